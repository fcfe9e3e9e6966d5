"""A reported damage on the control table: which measure is meant, and how grave it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from schemas.records import OpenDamage
from shared import structural_limits
from shared.damage import Component, DamageKind
from shared.structural_limits import Assessment, Level, Measure

Part = structural_limits.Component

PARTS: Final[Mapping[Component, Part]] = MappingProxyType(
    {
        Component.TOP_RAIL: Part.TOP_RAIL,
        Component.BOTTOM_RAIL: Part.BOTTOM_RAIL,
        Component.HEADER: Part.HEADER,
        Component.SILL: Part.SILL,
        Component.CORNER_POST: Part.CORNER_POST,
        Component.CORNER_FITTING: Part.FITTING,
        Component.INTERMEDIATE_FITTING: Part.FITTING,
        Component.UNDERSTRUCTURE: Part.UNDERSTRUCTURE,
        Component.CROSS_MEMBER: Part.UNDERSTRUCTURE,
        Component.LOCKING_ROD: Part.LOCKING_RODS,
    }
)
"""The components that the table has limits for; cross members are its understructure."""

_OUT_OF_SHAPE: Final = (Measure.DEFORMATION, Measure.OUT_OF_PLANE)
_TORN: Final = (
    Measure.CRACK,
    Measure.CRACK_IN_UPPER_FLANGE,
    Measure.CRACK_IN_WEB,
    Measure.THROUGH_CRACK,
    Measure.CROSS_MEMBERS_CRACKED,
)
_LOST: Final = (
    Measure.ADJACENT_CROSS_MEMBERS_LOST,
    Measure.SHARE_OF_CROSS_MEMBERS_LOST,
    Measure.CROSS_MEMBERS_LOST,
)
_OUT_OF_WORK: Final = (Measure.INNER_RODS_NOT_WORKING,)

_MEASURES: Final[Mapping[DamageKind, tuple[Measure, ...]]] = MappingProxyType(
    {
        DamageKind.BENT: _OUT_OF_SHAPE,
        DamageKind.BOWED: _OUT_OF_SHAPE,
        DamageKind.DENTED: _OUT_OF_SHAPE,
        DamageKind.WARPED: _OUT_OF_SHAPE,
        DamageKind.CRACKED: _TORN,
        DamageKind.CUT: _TORN,
        DamageKind.HOLED: _TORN,
        DamageKind.BROKEN: (*_TORN, *_OUT_OF_WORK),
        DamageKind.MISSING: (Measure.MISSING, *_LOST, *_OUT_OF_WORK),
        DamageKind.LOOSE: (Measure.WELD_SEPARATION, *_LOST),
        DamageKind.SEIZED: _OUT_OF_WORK,
    }
)
"""What each kind of damage may be measured as, where the inspector does not say: all are weighed
and the gravest counts. Our own reading of "crack, tear, separation" and "non-functional"."""

_COUNTED: Final = frozenset(
    {
        Measure.MISSING,
        Measure.DOES_NOT_ENGAGE,
        Measure.ADJACENT_CROSS_MEMBERS_LOST,
        Measure.CROSS_MEMBERS_LOST,
        Measure.CROSS_MEMBERS_CRACKED,
        Measure.INNER_RODS_NOT_WORKING,
        Measure.OUTER_RODS_NOT_WORKING,
    }
)
_GRAVITY: Final = (Level.NEITHER, Level.RESTRICTED, Level.SERIOUS)


@dataclass(frozen=True, slots=True)
class Hurt:
    """A damage as the control table needs it, whether just reported or open in a record."""

    component: Component
    kind: DamageKind
    measure: Measure | None = None
    measured_mm: int | None = None
    count: int | None = None
    out_of: int | None = None


class Weighed(NamedTuple):
    """A damage weighed: as which measure, of what value, and what the table says."""

    part: Part
    measure: Measure
    value: int
    assessment: Assessment


def hurt_of(damage: OpenDamage) -> Hurt | None:
    """Return an open damage as the table needs it; None for words that are in no vocabulary."""
    try:
        return Hurt(
            Component(damage.component),
            DamageKind(damage.kind),
            Measure(damage.measure) if damage.measure else None,
            damage.measured_mm,
            damage.count,
            damage.out_of,
        )
    except ValueError:
        return None


def measures_of(hurt: Hurt) -> list[Measure]:
    """Return what the damage may be measured as on its component; empty where there is no limit."""
    part = PARTS.get(hurt.component)
    if part is None:
        return []
    known = structural_limits.list_measures(part)
    meant = (hurt.measure,) if hurt.measure else _MEASURES.get(hurt.kind, ())
    return [measure for measure in meant if measure in known]


def weigh(hurt: Hurt, *, one_door_off: bool = False) -> Weighed | None:
    """Return the gravest that the table says of a damage; None where it can say nothing.

    Pieces are one where nobody counted, and those lost are taken to stand side by side: the
    careful reading. A length that nobody measured is not weighed, see `lacks_measurement`.
    """
    part = PARTS.get(hurt.component)
    if part is None:
        return None
    found = [
        Weighed(part, measure, value, _assess(part, measure, value, one_door_off=one_door_off))
        for measure in measures_of(hurt)
        if (value := _value(hurt, measure)) is not None
    ]
    return max(found, key=lambda one: _GRAVITY.index(one.assessment.level), default=None)


def is_serious(weighed: Weighed | None) -> bool:
    """Say whether what was weighed is a serious deficiency: out of service at once."""
    return weighed is not None and weighed.assessment.level is Level.SERIOUS


def lacks_measurement(hurt: Hurt) -> bool:
    """Say whether the table has limits for the damage, and none can be weighed for want of mm."""
    measures = measures_of(hurt)
    return bool(measures) and all(_value(hurt, measure) is None for measure in measures)


def _value(hurt: Hurt, measure: Measure) -> int | None:
    count = 1 if hurt.count is None else hurt.count
    if measure is Measure.SHARE_OF_CROSS_MEMBERS_LOST:
        return None if hurt.out_of is None else 100 * count // hurt.out_of
    return count if measure in _COUNTED else hurt.measured_mm


def _assess(part: Part, measure: Measure, value: int, *, one_door_off: bool) -> Assessment:
    if measure is Measure.INNER_RODS_NOT_WORKING:
        return structural_limits.assess_locking_rods(
            inner=value, outer=0, one_door_off=one_door_off
        )
    return structural_limits.assess(part, measure, value)
