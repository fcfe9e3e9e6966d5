"""What can be wrong with a request itself, before anything in it is looked at."""

from __future__ import annotations

from shared.errors import HardstandError


class BadRequestError(HardstandError):
    """A request cannot be read."""
