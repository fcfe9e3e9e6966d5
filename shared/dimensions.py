"""Dimensions of ISO 668 series 1 boxes: external, minimum internal, and door openings, in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Final

from shared.errors import KnowledgeError
from shared.size_type_parts import Bound, WidthClass
from shared.size_types import SizeType
from shared.table_files import Certainty, load_table

_SAME_MM: Final = 1
"""ISO 6346 prints 2895 mm where ISO 668 has 2896 for 9 ft 6 in."""


class Quantity(StrEnum):
    """What is measured. The `minus` of an external one is how much less is allowed."""

    LENGTH = "length"
    LENGTH_MINUS = "length minus"
    WIDTH = "width"
    WIDTH_MINUS = "width minus"
    HEIGHT = "height"
    HEIGHT_MINUS = "height minus"
    INTERNAL_LENGTH = "internal length"
    INTERNAL_WIDTH = "internal width"
    INTERNAL_HEIGHT = "internal height"
    DOOR_WIDTH = "door width"
    DOOR_HEIGHT = "door height"


class DimensionBound(StrEnum):
    """How the mm are meant."""

    NOMINAL = "nominal"
    TOLERANCE = "tolerance"
    MINIMUM = "minimum"
    UNDER = "under"


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension of one designation, in whole mm."""

    mm: int
    bound: DimensionBound
    source: str
    certainty: Certainty


class DesignationError(KnowledgeError):
    """A text is no designation of ISO 668 series 1; carries it."""

    def __init__(self, designation: str) -> None:
        self.designation = designation
        super().__init__(
            f"{designation!r} is no designation of ISO 668 series 1",
            expected=f"one of {', '.join(designations())}",
            remedy="A box outside the series (10 ft with 8 ft 6 in is one) has no row here",
        )


@cache
def _dimensions() -> Mapping[str, Mapping[Quantity, Dimension]]:
    found: dict[str, dict[Quantity, Dimension]] = {}
    for row in load_table("iso668_dimensions"):
        bound = DimensionBound(row["bound"])
        dimension = Dimension(int(row["mm"]), bound, row.source, row.certainty)
        for designation in row["designations"].split():
            found.setdefault(designation, {})[Quantity(row["quantity"])] = dimension
    return MappingProxyType(found)


def designations() -> tuple[str, ...]:
    """Return every designation, longest box first."""
    return tuple(_dimensions())


def dimensions_of(designation: str) -> Mapping[Quantity, Dimension]:
    """Return what is known of a designation; a quantity that the standard leaves open is absent.

    Raises:
        DesignationError: no such designation.
    """
    try:
        return _dimensions()[designation]
    except KeyError as fault:
        raise DesignationError(designation) from fault


@lru_cache(maxsize=1024)
def find_designation(size_type: SizeType) -> str | None:
    """Return the designation of a decoded size-type, None outside ISO 668 series 1.

    Every height under 8 ft is an `X` box. Wider boxes and 9 ft ones have no designation.
    """
    if size_type.height.width is not WidthClass.STANDARD or size_type.height.bound is Bound.OVER:
        return None
    for designation, known in _dimensions().items():
        same_length = known[Quantity.LENGTH].mm == size_type.length.mm
        if same_length and _has_height(known[Quantity.HEIGHT], size_type.height.mm):
            return designation
    return None


def _has_height(known: Dimension, height_mm: int) -> bool:
    if known.bound is DimensionBound.UNDER:
        return height_mm < known.mm
    return abs(known.mm - height_mm) <= _SAME_MM


def minimum_capacity_m3(designation: str) -> Decimal | None:
    """Return the volume of the minimum internal dimensions, None where they are not laid down.

    Whole litres, rounded down: a box of the designation holds at least this much.

    Raises:
        DesignationError: no such designation.
    """
    known = dimensions_of(designation)
    if Quantity.INTERNAL_HEIGHT not in known:
        return None
    length, width, height = (
        known[one].mm
        for one in (Quantity.INTERNAL_LENGTH, Quantity.INTERNAL_WIDTH, Quantity.INTERNAL_HEIGHT)
    )
    return Decimal(length * width * height // 1_000_000) / 1000
