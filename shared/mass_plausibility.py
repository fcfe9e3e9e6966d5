"""What masses and cube to expect of a box of a size: ISO 668 ratings, typical and least values.

Everything here makes a value plausible or odd; none of it makes one right. The plate is the
authority. Codes of length and height are the first two characters of an ISO 6346 size-type.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from shared import size_types
from shared.old_size_types import OldSizeType
from shared.size_type_errors import SizeTypeError
from shared.size_type_parts import TypeMeaning
from shared.table_files import Certainty, load_table

TARE_MARGIN = Decimal("0.15")
"""How far a tare may lie outside the typical range: our own margin, for fittings and old boxes."""
CUBE_MARGIN = Decimal("0.10")
"""How far a cube may lie outside the typical range: our own margin."""
SCALES_MARGIN_PERCENT = 10
SCALES_MARGIN_KG = 100
"""How far a weighed tare may lie from the sum, whichever is more: our own margins, for the scales
of a yard, old paint and a wet floor."""

_DRY_GROUPS = frozenset({"GP", "VH"})
_DRY_DETAILS = frozenset({None, "G0", "G1", "V0"})
"""Closed boxes whose sides do not open; what others weigh and hold no typical value tells."""


class Iso668Edition(StrEnum):
    """The editions of ISO 668 between which ratings changed; `IN_USE` is met outside them all."""

    BEFORE_1985 = "before 1985"
    OF_1995 = "1995"
    OF_2005 = "2005"
    OF_2016 = "2016"
    IN_USE = "in use"


@dataclass(frozen=True, slots=True)
class Rating:
    """One maximum gross mass: whole kg, and the lb usually printed beside it when known."""

    edition: Iso668Edition
    length_code: str
    kilograms: int
    printed_lb: int | None
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class TypicalBox:
    """A typical dry box of one size: tare in whole kg, cube in m3, each as a range."""

    name: str
    tare_low_kg: int
    tare_high_kg: int
    cube_low_m3: Decimal
    cube_high_m3: Decimal


class MassExpectation(NamedTuple):
    """What a size-type lets expect, kg and m3; `None` where nothing is known of that size.

    `lowest_` and `highest_rating_kg` span all editions of ISO 668, `in_use_kg` is the highest
    plate value met outside them. Tare and cube have their margins already in them.
    """

    lowest_rating_kg: int | None = None
    highest_rating_kg: int | None = None
    in_use_kg: int | None = None
    tare_low_kg: int | None = None
    tare_high_kg: int | None = None
    cube_low_m3: Decimal | None = None
    cube_high_m3: Decimal | None = None
    least_cube_m3: Decimal | None = None


def _load_ratings() -> tuple[Rating, ...]:
    return tuple(
        Rating(
            Iso668Edition(row["edition"]),
            row["length_code"],
            int(row["rating_kg"]),
            int(row["printed_lb"]) if row["printed_lb"] else None,
            row.source,
            row.certainty,
        )
        for row in load_table("iso668_ratings")
    )


def _load_typical_boxes() -> dict[str, TypicalBox]:
    return {
        row["length_code"] + row["height_code"]: TypicalBox(
            row["name"],
            int(row["tare_low_kg"]),
            int(row["tare_high_kg"]),
            Decimal(row["cube_low_m3"]),
            Decimal(row["cube_high_m3"]),
        )
        for row in load_table("typical_boxes")
    }


def _load_least_cubes() -> dict[str, Decimal]:
    return {
        row["length_code"] + row["height_code"]: Decimal(
            int(row["length_mm"]) * int(row["width_mm"]) * int(row["height_mm"]),
        ).scaleb(-9)
        for row in load_table("iso668_internal_minimums")
    }


RATINGS = _load_ratings()
_TYPICAL_BOXES = _load_typical_boxes()
_LEAST_CUBES = _load_least_cubes()


def list_ratings(length_code: str) -> tuple[Rating, ...]:
    """Return the ratings of one length in the order of the table; empty for other lengths."""
    return tuple(rating for rating in RATINGS if rating.length_code == length_code)


def find_rating(length_code: str, edition: Iso668Edition) -> Rating | None:
    """Return the rating of a length in one edition of ISO 668, `None` when it had none."""
    found = (rating for rating in list_ratings(length_code) if rating.edition is edition)
    return next(found, None)


def find_typical_box(size_code: str) -> TypicalBox | None:
    """Return the typical dry box of a length and height code (`45`), `None` when none is known."""
    return _TYPICAL_BOXES.get(size_code)


def find_least_cube(size_code: str) -> Decimal | None:
    """Return the m3 that the minimum internal dimensions of ISO 668 make, `None` outside it."""
    return _LEAST_CUBES.get(size_code)


@lru_cache(maxsize=4096)
def expect_masses(size_type: str) -> MassExpectation:
    """Return what a size-type code as painted lets expect; all `None` for a code that says nothing.

    Only closed dry boxes have a tare and a cube to expect. A numeric code of before 1996 counts as
    the code of today that comes nearest.
    """
    try:
        decoded = size_types.read_size_type(size_type)
    except SizeTypeError:
        return MassExpectation()
    if isinstance(decoded, OldSizeType):
        if decoded.suggested is None:
            return _expect_length(decoded.code[0])
        decoded = size_types.decode_size_type(decoded.suggested)
    expectation = _expect_length(decoded.length.code)
    if not all(_is_dry(meaning) for meaning in decoded.meanings):
        return expectation
    return _expect_dry_box(expectation, decoded.length.code + decoded.height.code)


def _is_dry(meaning: TypeMeaning) -> bool:
    return meaning.group in _DRY_GROUPS and meaning.detail in _DRY_DETAILS


def _expect_length(length_code: str) -> MassExpectation:
    ratings = list_ratings(length_code)
    rated = [r.kilograms for r in ratings if r.edition is not Iso668Edition.IN_USE]
    used = [r.kilograms for r in ratings if r.edition is Iso668Edition.IN_USE]
    return MassExpectation(
        lowest_rating_kg=min(rated, default=None),
        highest_rating_kg=max(rated, default=None),
        in_use_kg=max(used, default=None),
    )


def _expect_dry_box(expectation: MassExpectation, size_code: str) -> MassExpectation:
    box = find_typical_box(size_code)
    if box is None:
        return expectation._replace(least_cube_m3=find_least_cube(size_code))
    return expectation._replace(
        tare_low_kg=int(box.tare_low_kg * (1 - TARE_MARGIN)),
        tare_high_kg=int(box.tare_high_kg * (1 + TARE_MARGIN)),
        cube_low_m3=box.cube_low_m3 * (1 - CUBE_MARGIN),
        cube_high_m3=box.cube_high_m3 * (1 + CUBE_MARGIN),
        least_cube_m3=find_least_cube(size_code),
    )
