"""Presumed bearing values of the ground, from one named table at a time, never mixed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from shared.errors import KnowledgeError
from shared.table_files import Certainty, load_table


class SoilTable(StrEnum):
    """The published tables. They disagree by up to a factor of four, so one is chosen by name."""

    BS_8004 = "bs-8004"
    CANADA = "canada"
    IS_1904 = "is-1904"


class SoilUnknownError(KnowledgeError):
    """The table has no such soil; carries both, and the soils it has."""

    def __init__(self, table: SoilTable, soil: str, known: tuple[str, ...]) -> None:
        self.table = table
        self.soil = soil
        self.known = known
        super().__init__(
            f"The table {table} has no soil {soil!r}",
            expected=f"one of {', '.join(known)}",
            remedy="Name a soil of this table, or give a bearing value found by a test",
        )


class SoilHasNoSafeValueError(KnowledgeError):
    """The table gives no value to rely on: only 'less than', or 'investigate'. Carries the soil."""

    def __init__(self, soil: Soil) -> None:
        self.soil = soil
        says = "to investigate" if soil.high_kpa is None else f"less than {soil.high_kpa:g} kPa"
        super().__init__(
            f"For {soil.words} the table {soil.table} says {says}",
            expected="a value that the ground bears at least",
            remedy="Have the ground tested and give the bearing value found",
        )


@dataclass(frozen=True, slots=True)
class Soil:
    """A soil in one table: its bearing value from `low_kpa` to `high_kpa`; None is an open end."""

    table: SoilTable
    name: str
    words: str
    low_kpa: float | None
    high_kpa: float | None
    source: str
    certainty: Certainty

    def get_safe_bearing_kpa(self) -> float:
        """Return the low end of the range, in kPa, which is what may be relied on.

        Raises:
            SoilHasNoSafeValueError: the table gives no low end.
        """
        if self.low_kpa is None:
            raise SoilHasNoSafeValueError(self)
        return self.low_kpa


@cache
def _all_soils() -> tuple[Soil, ...]:
    return tuple(
        Soil(
            table=SoilTable(row["table"]),
            name=row["soil"],
            words=row["words"],
            low_kpa=float(row["low_kpa"]) if row["low_kpa"] else None,
            high_kpa=float(row["high_kpa"]) if row["high_kpa"] else None,
            source=row.source,
            certainty=row.certainty,
        )
        for row in load_table("soils")
    )


def list_soils(table: SoilTable) -> tuple[Soil, ...]:
    """Return the soils of one table, in its order."""
    return tuple(soil for soil in _all_soils() if soil.table is table)


def get_soil(table: SoilTable, name: str) -> Soil:
    """Return the soil called `name` in this table and no other.

    Raises:
        SoilUnknownError: the table has none of that name, even if another table has.
    """
    soils = list_soils(table)
    for soil in soils:
        if soil.name == name:
            return soil
    raise SoilUnknownError(table, name, tuple(soil.name for soil in soils))
