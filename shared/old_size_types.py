"""Numeric size-type codes from before 1996: read, and mapped with what is lost said out loud.

Four digits: length, height with or without a gooseneck tunnel, and two for the type. The code
suggested for today is Hardstand's own mapping and no standard's; nothing converts silently.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from shared.size_type_errors import SizeTypeUnassignedError
from shared.table_files import Certainty, TableRow, load_table

_SILENT: Final = "not in the tables of old codes that were read"
_TUNNEL_LOST: Final = "the gooseneck tunnel, which the new coding does not tell"
_EIGHT_FT_SIX_MM: Final = 2591
_UNSURE_FIRST: Final = (Certainty.MEMORY, Certainty.PRACTICE, Certainty.DERIVED, Certainty.ONE_TEXT)


@dataclass(frozen=True, slots=True)
class OldSizeType:
    """A decoded numeric code.

    `from_mm` and `to_mm` bound the height, None where it is open. `suggested` is the code of
    today that comes nearest, None when there is none; `losses` says what it would not tell or
    only assumes. `certainty` is that of the least sure of the three parts.
    """

    code: str
    length_ft: int
    length_mm: int
    height: str
    from_mm: int | None
    to_mm: int | None
    has_tunnel: bool
    type_text: str
    suggested: str | None
    losses: tuple[str, ...]
    certainty: Certainty

    @property
    def is_over_8_ft_6_in(self) -> bool:
        """Say whether the height digit tells of more than 8 ft 6 in (2591 mm)."""
        return self.from_mm is not None and self.from_mm > _EIGHT_FT_SIX_MM


def decode_old_size_type(code: str) -> OldSizeType:
    """Decode four digits; the type falls back to its family where the pair is not known.

    Raises:
        SizeTypeUnassignedError: the length or the height digit is in no table that was read.
    """
    length = _row(code, "length", "old_size_lengths", code[0])
    height = _row(code, "height", "old_size_heights", code[1])
    kind = _rows("old_size_types").get(code[2:]) or _row(code, "type", "old_size_families", code[2])
    return OldSizeType(
        code=code,
        length_ft=int(length["feet"]),
        length_mm=int(length["mm"]),
        height=height["height"],
        from_mm=_whole(height["from_mm"]),
        to_mm=_whole(height["to_mm"]),
        has_tunnel=height["tunnel"] == "yes",
        type_text=kind["meaning"],
        suggested=_suggested(length, height, kind),
        losses=_losses(height, kind),
        certainty=_least_sure(length, height, kind),
    )


@cache
def _rows(table: str) -> dict[str, TableRow]:
    return {row["code"]: row for row in load_table(table)}


def _row(code: str, part: str, table: str, digits: str) -> TableRow:
    found = _rows(table).get(digits)
    if found is None:
        raise SizeTypeUnassignedError(code, part, digits, _SILENT, Certainty.MEMORY)
    return found


def _whole(text: str) -> int | None:
    return int(text) if text else None


def _suggested(length: TableRow, height: TableRow, kind: TableRow) -> str | None:
    parts = (length["new_code"], height["new_code"], kind["new_code"])
    return "".join(parts) if all(parts) else None


def _losses(height: TableRow, kind: TableRow) -> tuple[str, ...]:
    tunnel = _TUNNEL_LOST if height["tunnel"] == "yes" else ""
    return tuple(loss for loss in (tunnel, height["doubt"], kind["doubt"]) if loss)


def _least_sure(*rows: TableRow) -> Certainty:
    found = {row.certainty for row in rows}
    return next((one for one in _UNSURE_FIRST if one in found), Certainty.READ)
