"""Invented boxes whose masses and plates hold together, as their makers would have painted them."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any, Final

from shared import marks
from shared.months import Month
from shared.plates import first_examination_due


@dataclass(frozen=True, slots=True)
class Size:
    """One size: what such boxes weigh, in kg, and hold, in m3; `share` of a hundred bought."""

    code: str
    tare_low_kg: int
    tare_high_kg: int
    gross_kg: int
    cube_m3: str
    share: int


SIZES: Final = (
    Size("12G1", 1250, 1350, 10160, "15.9", 8),
    Size("22G1", 2180, 2340, 30480, "33.1", 44),
    Size("25G1", 2350, 2480, 30480, "37.4", 8),
    Size("42G1", 3700, 3900, 30480, "67.5", 10),
    Size("45G1", 3900, 4110, 32500, "76.2", 30),
)
TWENTY_FT: Final = SIZES[1]
_OLD_STACKING_KG: Final = 192_000
_NEW_STACKING_KG: Final = 216_000


@dataclass(frozen=True, slots=True)
class Box:
    """One box: what stands on its doors and its plate when it comes in."""

    mark: str
    size_type: str
    gross_kg: int
    tare_kg: int
    cube_m3: str
    made: Month
    next_examination: Month | None
    """None: it comes under its last owner's programme of examinations."""
    provenance: str
    colour: str

    def masses(self, *, tare_kg: int | None = None) -> dict[str, Any]:
        """Return the masses on the doors, in kg and lb; `tare_kg` after something was fitted."""
        tare = self.tare_kg if tare_kg is None else tare_kg
        said: dict[str, Any] = {"cube_m3": self.cube_m3}
        masses = {"gross": self.gross_kg, "tare": tare, "payload": self.gross_kg - tare}
        for name, kilograms in masses.items():
            said |= {f"{name}_kg": kilograms, f"{name}_lb": in_pounds(kilograms)}
        return said

    def plate(self) -> dict[str, Any]:
        """Return the lines of the safety plate."""
        used = self.provenance == "used"
        said: dict[str, Any] = {
            "approval_reference": "ZZ-000/INVENTED",
            "manufactured_in": str(self.made),
            "manufacturer_number": f"M{self.mark[4:10]}",
            "gross_kg": self.gross_kg,
            "gross_lb": in_pounds(self.gross_kg),
            "stacking_kg": _OLD_STACKING_KG if used else _NEW_STACKING_KG,
            "racking_n": 150_000,
        }
        if self.next_examination is None:
            return said | {"programme": "ACEP/ZZ/000"}
        return said | {"next_examination": str(self.next_examination)}


def in_pounds(kilograms: int) -> int:
    """Return the pounds painted beside a mass: to the nearest ten."""
    return round(kilograms * 2.20462 / 10) * 10


def make_mark(owner: str, serial: int) -> str:
    """Return the mark with its right check digit."""
    first_ten = f"{owner}{serial:06d}"
    return first_ten + marks.check_digit(first_ten)


def pick_size(chance: Random) -> Size:
    """Return a size as often as such boxes are bought."""
    return chance.choices(SIZES, [size.share for size in SIZES])[0]


def make_new(mark: str, size: Size, arrived: Month, chance: Random, colour: str) -> Box:
    """Return a box that made one trip: built two months ago, the first examination far ahead."""
    made = arrived.plus(-2)
    first = first_examination_due(made)
    return _make(mark, size, (made, first), chance, ("one-trip", colour))


def make_used(
    mark: str, size: Size, made: Month, next_examination: Month | None, chance: Random, colour: str
) -> Box:
    """Return a box with some years behind it."""
    return _make(mark, size, (made, next_examination), chance, ("used", colour))


def _make(
    mark: str,
    size: Size,
    months: tuple[Month, Month | None],
    chance: Random,
    looks: tuple[str, str],
) -> Box:
    tare_kg = chance.randrange(size.tare_low_kg, size.tare_high_kg, 10)
    return Box(mark, size.code, size.gross_kg, tare_kg, size.cube_m3, *months, *looks)
