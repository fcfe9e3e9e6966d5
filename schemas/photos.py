"""What a sender of a photo hears back."""

from __future__ import annotations

from typing import Literal

from schemas.base import Model

PhotoSize = Literal["original", "large", "small"]
"""As it was kept; at most 1280 pixels; at most 320 pixels."""


class PhotoReceipt(Model):
    """The answer to one photo: it is kept, and whether it can be read.

    An event names the photo by `digest`. `says` is for whoever took it, and empty when it can be
    read. `taken_at` is the camera's own time, ISO 8601, with a zone only if the camera told one.
    """

    digest: str
    media_type: str
    width: int
    height: int
    taken_at: str | None
    too_dark: bool
    too_blurred: bool
    says: tuple[str, ...]
