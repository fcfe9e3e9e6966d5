"""Which lifts are allowed for which length, empty or loaded, and where its fork pockets lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from shared import cautions
from shared.quantities import require_between
from shared.table_files import Certainty, TableRow, load_table

_ANY_LENGTH_FT: Final = (1, 60)


class LiftMethod(StrEnum):
    """How a unit is lifted: frames and slings from above, slings from below, forks."""

    TOP_SPREADER = "top-spreader"
    SIDE_FRAME = "side-frame"
    END_FRAME = "end-frame"
    TOP_SLING = "top-sling"
    BOTTOM_SLING = "bottom-sling"
    FORKS = "forks"


class Load(StrEnum):
    """Whether anything is inside. A unit that was not looked into counts as loaded."""

    EMPTY = "empty"
    LOADED = "loaded"


class LiftVerdict(StrEnum):
    """What the rules say: `YES`, `IF` its condition holds, `NO`, or nothing known (`UNKNOWN`)."""

    YES = "yes"
    IF = "if"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class LiftAnswer:
    """What the rules say of one lift. It is no permission: see `caution`, which never is empty."""

    method: LiftMethod
    length_ft: int
    load: Load
    verdict: LiftVerdict
    least_sling_deg: float | None
    """The least angle of the sling to the horizontal; None when no rule names one."""
    condition: str
    source: str
    certainty: Certainty | None
    """None when nothing is known."""
    caution: str = cautions.LIFTING


class PocketMatch(StrEnum):
    """How a measured spacing fits a pair: its centres, its clear distance (a misreading), or not.

    The clear distance between two pockets is quoted as their spacing in some texts.
    """

    CENTRES = "centres"
    CLEAR_DISTANCE = "clear distance"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class PocketPair:
    """A pair of fork pockets that a length may have. Measures in mm; None where none is known."""

    length_ft: int
    pair: str
    presence: str
    use: str
    spacing_mm: float | None
    tolerance_mm: float | None
    width_mm: float | None
    height_mm: float | None
    source: str
    certainty: Certainty

    def match_spacing(self, measured_mm: float) -> PocketMatch:
        """Say what `measured_mm` between the pair's pockets is; `NEITHER` without a figure."""
        if self.spacing_mm is None or self.tolerance_mm is None or self.width_mm is None:
            return PocketMatch.NEITHER
        off = abs(measured_mm - self.spacing_mm)
        if off <= self.tolerance_mm:
            return PocketMatch.CENTRES
        if abs(measured_mm - (self.spacing_mm - self.width_mm)) <= self.tolerance_mm:
            return PocketMatch.CLEAR_DISTANCE
        return PocketMatch.NEITHER


_Key = tuple[LiftMethod, int, Load]


@cache
def _lifts() -> Mapping[_Key, TableRow]:
    rows = load_table("lifts")
    return MappingProxyType(
        {(LiftMethod(row["method"]), int(row["length_ft"]), Load(row["load"])): row for row in rows}
    )


def judge_lift(method: LiftMethod, length_ft: int, load: Load) -> LiftAnswer:
    """Return what the rules say of lifting a unit of this length so.

    A length or method without a rule gives `UNKNOWN`: it waits for a competent person.

    Raises:
        QuantityError: no unit has that length; carries it.
    """
    require_between("The length", length_ft, "ft", *_ANY_LENGTH_FT)
    row = _lifts().get((method, length_ft, load))
    if row is None:
        condition = "a competent person says how, from the plate and the maker's papers"
        return LiftAnswer(
            method, length_ft, load, LiftVerdict.UNKNOWN, None, condition, "no rule found", None
        )
    angle = float(row["sling_deg"]) if row["sling_deg"] else None
    verdict = LiftVerdict(row["verdict"])
    return LiftAnswer(
        method, length_ft, load, verdict, angle, row["condition"], row.source, row.certainty
    )


def list_lifts(length_ft: int, load: Load) -> tuple[LiftAnswer, ...]:
    """Return one answer per method, in the order of `LiftMethod`, for this length and load."""
    return tuple(judge_lift(method, length_ft, load) for method in LiftMethod)


def is_sling_steep_enough(answer: LiftAnswer, sling_deg: float) -> bool | None:
    """Say whether a sling at `sling_deg` to the horizontal meets the rule; None without a rule.

    Raises:
        QuantityError: no angle from 0 to 90 degrees.
    """
    require_between("The sling's angle to the horizontal", sling_deg, "degrees", 0, 90)
    if answer.least_sling_deg is None:
        return None
    return sling_deg >= answer.least_sling_deg


@cache
def _pockets() -> tuple[PocketPair, ...]:
    return tuple(_read_pair(row) for row in load_table("fork_pockets"))


def _read_pair(row: TableRow) -> PocketPair:
    spacing, tolerance, width, height = (
        float(row[column]) if row[column] else None
        for column in ("spacing_mm", "tolerance_mm", "width_mm", "height_mm")
    )
    return PocketPair(
        length_ft=int(row["length_ft"]),
        pair=row["pair"],
        presence=row["presence"],
        use=row["use"],
        spacing_mm=spacing,
        tolerance_mm=tolerance,
        width_mm=width,
        height_mm=height,
        source=row.source,
        certainty=row.certainty,
    )


def list_pockets(length_ft: int) -> tuple[PocketPair, ...]:
    """Return the pairs of fork pockets a unit of this length may have; empty when none is known."""
    return tuple(pair for pair in _pockets() if pair.length_ft == length_ft)
