"""Who signed a paper, or refused to and why: as drawn on a screen, as a picture, or left open."""

from __future__ import annotations

from typing import Any, Final, Literal

from pydantic import model_validator

from schemas.base import Model
from tracker.papers import typesetting

Stroke = tuple[tuple[float, float], ...]
"""One line of a pen: points across and down, in any unit."""

_FEWEST_POINTS: Final = 2
# The place to sign is about three times as wide as high.
_WIDE: Final = 3.1


class Signing(Model):
    """One side's signature. Without one the paper has a place to sign by hand."""

    role: str
    name: str = ""
    state: Literal["open", "signed", "refused"] = "open"
    picture: bytes | None = None
    strokes: tuple[Stroke, ...] = ()
    reason: str = ""
    """Why it was refused."""

    @model_validator(mode="after")
    def _is_whole(self) -> Signing:
        if self.state == "refused" and not self.reason.strip():
            raise ValueError("a refusal to sign has a reason")
        if self.state == "signed" and self.picture is None and not self.strokes:
            raise ValueError("a signature is a picture or strokes")
        return self


def signing_values(signings: tuple[Signing, ...]) -> list[dict[str, Any]]:
    """Return signings as templates take them; strokes lie between 0 and 1, their shape kept.

    A picture that cannot be shown is said to be one, since an empty line would read as unsigned.
    """
    return [_values(signing) for signing in signings]


def _values(signing: Signing) -> dict[str, Any]:
    signed = signing.state == "signed"
    picture = typesetting.picture(signing.picture) if signed else None
    strokes = _scaled(signing.strokes) if signed else []
    name = signing.name
    if signed and picture is None and not strokes:
        name = f"{name} (signed; the picture of it cannot be shown)".strip()
    return {
        "role": signing.role,
        "name": name,
        "state": signing.state,
        "picture": picture,
        "strokes": strokes,
        "reason": signing.reason,
    }


def _scaled(strokes: tuple[Stroke, ...]) -> list[list[list[float]]]:
    drawn = [stroke for stroke in strokes if len(stroke) >= _FEWEST_POINTS]
    points = [point for stroke in drawn for point in stroke]
    if not points:
        return []
    left, top = min(x for x, _ in points), min(y for _, y in points)
    wide, high = max(x for x, _ in points) - left, max(y for _, y in points) - top
    size = max(wide / _WIDE, high) or 1.0
    return [
        [[round((x - left) / (size * _WIDE), 4), round((y - top) / size, 4)] for x, y in stroke]
        for stroke in drawn
    ]
