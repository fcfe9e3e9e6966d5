"""The control table for structurally sensitive components: serious, restricted, or neither.

These are limits for taking a box out of service, not for calling it good: a measurement within them
never makes a box cargo-worthy. Repair criteria are tighter and are no part of this. Where somebody
can be hurt, a competent person, the plate and local rules decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from operator import ge, gt, lt

from shared.errors import KnowledgeError
from shared.table_files import Certainty, load_table


class Component(StrEnum):
    """The components that the control table knows."""

    TOP_RAIL = "top rail"
    BOTTOM_RAIL = "bottom rail"
    HEADER = "header"
    SILL = "sill"
    CORNER_POST = "corner post"
    FITTING = "fitting"
    UNDERSTRUCTURE = "understructure"
    LOCKING_RODS = "locking rods"


class Measure(StrEnum):
    """What is measured (mm) or counted on a component; not every component has every measure."""

    DEFORMATION = "deformation"
    CRACK = "crack"
    CRACK_IN_UPPER_FLANGE = "crack in upper flange"
    CRACK_IN_WEB = "crack in web"
    MISSING = "missing"
    THROUGH_CRACK = "through crack"
    DOES_NOT_ENGAGE = "does not engage"
    OUT_OF_PLANE = "out of plane"
    APERTURE_WIDTH = "aperture width"
    APERTURE_LENGTH = "aperture length"
    TOP_PLATE_THICKNESS = "top plate thickness"
    WELD_SEPARATION = "weld separation"
    ADJACENT_CROSS_MEMBERS_LOST = "adjacent cross members lost"
    SHARE_OF_CROSS_MEMBERS_LOST = "share of cross members lost"
    CROSS_MEMBERS_LOST = "cross members lost"
    CROSS_MEMBERS_CRACKED = "cross members cracked"
    INNER_RODS_NOT_WORKING = "inner rods not working"
    OUTER_RODS_NOT_WORKING = "outer rods not working"


class Level(StrEnum):
    """How much a measurement weighs: out of service at once, restrictions apply, or neither."""

    SERIOUS = "serious"
    RESTRICTED = "restricted"
    NEITHER = "neither"


class Compare(StrEnum):
    """How a value stands to a limit when the limit bites; `ABOVE` and `BELOW` are strict."""

    ABOVE = "above"
    BELOW = "below"
    AT_LEAST = "at least"


_COMPARISONS = {Compare.ABOVE: gt, Compare.BELOW: lt, Compare.AT_LEAST: ge}
_CERTAINTIES = tuple(Certainty)
"""From the surest to the least sure of an outside fact, as the enumeration stands."""


class MeasurementError(KnowledgeError):
    """A measurement that the control table cannot take; carries component, measure and value."""

    def __init__(self, component: Component, measure: Measure, value: Decimal | int) -> None:
        self.component = component
        self.measure = measure
        self.value = value
        super().__init__(
            f"The control table cannot take {measure} of {value} on a {component}",
            expected=f"a value of 0 or more for one of: {', '.join(list_measures(component))}",
            remedy="Measure again, or choose what was measured",
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of the control table. `unit` is `mm`, `count` or `percent`."""

    component: Component
    measure: Measure
    level: Level
    compare: Compare
    value: Decimal
    unit: str
    source: str
    certainty: Certainty

    def is_reached_by(self, value: Decimal | int) -> bool:
        """Tell whether `value` is beyond this limit, as the table compares."""
        return bool(_COMPARISONS[self.compare](value, self.value))


@dataclass(frozen=True, slots=True)
class Restriction:
    """What a restricted component forbids; an empty text forbids nothing."""

    lifting_empty: str
    lifting_loaded: str
    stowing_empty: str
    stowing_loaded: str
    extent: str
    """Which part of the component the row reaches, when it is not all of it."""
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class Assessment:
    """What the control table says of one component; `certainty` is that of the weakest row used.

    `decided_by` is the limit that was passed, `None` when the level is `NEITHER`; `restriction`
    stands only with `RESTRICTED`. Says nothing about repair, nor that a box is good.
    """

    level: Level
    decided_by: Limit | None
    restriction: Restriction | None
    certainty: Certainty


def _load_limits() -> tuple[Limit, ...]:
    return tuple(
        Limit(
            Component(row["component"]),
            Measure(row["measure"]),
            Level(row["level"]),
            Compare(row["compare"]),
            Decimal(row["limit"]),
            row["unit"],
            row.source,
            row.certainty,
        )
        for row in load_table("structural_limits")
    )


def _load_restrictions() -> dict[Component, Restriction]:
    return {
        Component(row["component"]): Restriction(
            row["lifting_empty"],
            row["lifting_loaded"],
            row["stowing_empty"],
            row["stowing_loaded"],
            row["extent"],
            row.certainty,
        )
        for row in load_table("structural_restrictions")
    }


LIMITS = _load_limits()
RESTRICTIONS = _load_restrictions()


def list_measures(component: Component) -> tuple[Measure, ...]:
    """Return what can be measured or counted on a component, in the order of the table."""
    return tuple(dict.fromkeys(limit.measure for limit in LIMITS if limit.component is component))


def assess(component: Component, measure: Measure, value: Decimal | int) -> Assessment:
    """Return what the control table says of one measurement, mm or a count.

    A length counts as soon as it is there where the table says "any length".

    Raises:
        MeasurementError: the table has no such measure on this component, or the value is negative.
    """
    limits = [lim for lim in LIMITS if lim.component is component and lim.measure is measure]
    if not limits or value < 0:
        raise MeasurementError(component, measure, value)
    return _weigh(component, {measure: value}, limits)


def assess_cross_members(*, lost: int, adjacent: int, cracked: int, total: int) -> Assessment:
    """Return what the control table says of the cross members.

    Args:
        lost: How many are missing or detached.
        adjacent: How many of these stand side by side in the longest run; 1 when all stand alone.
        cracked: How many are cracked and still in place.
        total: How many the box was built with.

    Raises:
        MeasurementError: the counts contradict each other.
    """
    part = Component.UNDERSTRUCTURE
    if not 0 <= min(lost, 1) <= adjacent <= lost:
        raise MeasurementError(part, Measure.ADJACENT_CROSS_MEMBERS_LOST, adjacent)
    if total < 1 or cracked < 0 or lost + cracked > total:
        raise MeasurementError(part, Measure.CROSS_MEMBERS_LOST, lost)
    values: dict[Measure, Decimal | int] = {
        Measure.ADJACENT_CROSS_MEMBERS_LOST: adjacent,
        Measure.SHARE_OF_CROSS_MEMBERS_LOST: Decimal(100 * lost) / total,
        Measure.CROSS_MEMBERS_LOST: lost,
        Measure.CROSS_MEMBERS_CRACKED: cracked,
    }
    return _weigh(part, values, [lim for lim in LIMITS if lim.component is part])


def assess_locking_rods(*, inner: int, outer: int, one_door_off: bool = False) -> Assessment:
    """Return what the control table says of locking rods that do not work.

    A box approved for use with one door off may have inner rods out of work; they are then weighed
    as outer ones are, which is the careful reading of a table that says no more.

    Raises:
        MeasurementError: a count is negative.
    """
    part = Component.LOCKING_RODS
    if min(inner, outer) < 0:
        raise MeasurementError(part, Measure.INNER_RODS_NOT_WORKING, min(inner, outer))
    values: dict[Measure, Decimal | int] = {
        Measure.INNER_RODS_NOT_WORKING: 0 if one_door_off else inner,
        Measure.OUTER_RODS_NOT_WORKING: outer + inner if one_door_off else outer,
    }
    return _weigh(part, values, [lim for lim in LIMITS if lim.component is part])


def _weigh(
    component: Component,
    values: dict[Measure, Decimal | int],
    limits: list[Limit],
) -> Assessment:
    """Return the gravest level that any value reaches; the table lists serious limits first."""
    reached = [limit for limit in limits if limit.is_reached_by(values[limit.measure])]
    for limit in reached:
        if limit.level is Level.SERIOUS:
            return Assessment(Level.SERIOUS, limit, None, limit.certainty)
    # Below serious, the limits that were not reached carry the answer too.
    certainty = max((limit.certainty for limit in limits), key=_CERTAINTIES.index)
    if not reached:
        return Assessment(Level.NEITHER, None, None, certainty)
    return Assessment(Level.RESTRICTED, reached[0], RESTRICTIONS[component], certainty)
