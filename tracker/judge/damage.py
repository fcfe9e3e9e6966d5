"""Judge reported damage: its place, its weight by the control table, the holds and claims in it.

The rules stand in `tracker.judge.damage_rules`. Nothing here says that a box is good.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final

from schemas.events.condition import Damage
from schemas.events.hold import HoldKind
from schemas.findings import Finding
from schemas.records import OpenDamage, Record
from shared import damage as vocabulary
from shared.damage import Component, DamageKind
from shared.damage_locations import DamageLocationError, parse_location
from shared.structural_limits import Level, Restriction
from shared.table_files import Certainty
from tracker.judge import control_table, mend_dates
from tracker.judge import damage_rules as rules
from tracker.judge.checklist import build_of
from tracker.judge.control_table import Hurt, Weighed

RULES: Final = rules.RULES

_CERTAINTIES: Final = tuple(Certainty)
_FLOOR_GIVES_WAY: Final = frozenset({DamageKind.BROKEN, DamageKind.HOLED, DamageKind.ROTTED})
_IN_PLAIN_UNITS: Final = {"mm": " mm", "percent": " %", "count": ""}


def judge_damage(
    damage: Damage, field: str, record: Record, size_type: str | None, found_on: date
) -> list[Finding]:
    """Return what one damage gives rise to.

    Args:
        damage: As reported.
        field: Its name in the event: `damages.1` is the first.
        record: The unit before this inspection.
        size_type: The code as now known.
        found_on: The day of the inspection, in the depot's zone.
    """
    found = list(_judge_place(damage, field, size_type))
    hurt = hurt_by(damage)
    weighed = control_table.weigh(hurt, one_door_off=is_one_door_off(record))
    if weighed is None:
        found += _judge_unweighed(damage, hurt, field)
    elif weighed.assessment.level is not Level.NEITHER:
        found.append(_weight(weighed, field))
    if damage.on_lorry:
        found += _judge_claim(damage, field, found_on)
    return found


def propose_holds(damages: Iterable[Damage], record: Record) -> Iterator[Finding]:
    """Give each hold that the damages speak for, once, for the first that does.

    A hold that stands is not proposed again.
    """
    for number, hold, words in _proposals(map(hurt_by, damages), record):
        yield rules.HOLD_PROPOSED.finding(f"damages.{number}", seen=hold.value, words=words)


def holds_open(record: Record) -> list[tuple[HoldKind, str]]:
    """Return each hold that open damage of a record speaks for and that does not stand, and why."""
    hurts = [hurt for one in record.damages if (hurt := control_table.hurt_of(one)) is not None]
    return [(hold, words) for _, hold, words in _proposals(hurts, record)]


def serious_words(damage: OpenDamage, record: Record) -> str:
    """Return in words why open damage is a serious deficiency; empty where it is none."""
    hurt = control_table.hurt_of(damage)
    if hurt is None:
        return ""
    weighed = control_table.weigh(hurt, one_door_off=is_one_door_off(record))
    return say_weight(weighed) if weighed and control_table.is_serious(weighed) else ""


def hinders_release(record: Record) -> list[Finding]:
    """Return what open damage that is a serious deficiency says against letting the unit go."""
    serious = [words for one in record.damages if (words := serious_words(one, record))]
    if not serious:
        return []
    return [rules.SERIOUS_OPEN.finding("mark", seen=", ".join(dict.fromkeys(serious)))]


def _proposals(hurts: Iterable[Hurt], record: Record) -> Iterator[tuple[int, HoldKind, str]]:
    """Give each hold that does not stand once, with the number of the damage that speaks for it."""
    proposed: set[str] = {hold.hold for hold in record.holds}
    for number, hurt in enumerate(hurts, start=1):
        weighed = control_table.weigh(hurt, one_door_off=is_one_door_off(record))
        for hold, words in _speaks_for(hurt, weighed):
            if hold.value not in proposed:
                proposed.add(hold.value)
                yield number, hold, words


def hurt_by(damage: Damage) -> Hurt:
    """Return a reported damage as the control table needs it."""
    return Hurt(
        damage.component,
        damage.kind,
        damage.measure,
        damage.measured_mm,
        damage.count,
        damage.out_of,
    )


def is_one_door_off(record: Record) -> bool:
    """Say whether the plate approves the box for use with one door off."""
    return bool(record.plate and record.plate.get("one_door_off_stacking_kg"))


def say_weight(weighed: Weighed) -> str:
    """Return in words what was weighed, for a sentence."""
    unit = _unit(weighed)
    return f"{weighed.measure} of {weighed.value}{unit} on the {weighed.part}"


def _speaks_for(hurt: Hurt, weighed: Weighed | None) -> Iterator[tuple[HoldKind, str]]:
    if weighed is not None and control_table.is_serious(weighed):
        words = f"{say_weight(weighed)} is a serious deficiency"
        yield HoldKind.DO_NOT_LIFT, words
        yield HoldKind.DO_NOT_STACK, words
    elif weighed is not None and (lifting := _restricts_lifting(weighed)):
        yield HoldKind.DO_NOT_LIFT, f"{say_weight(weighed)}: {lifting}"
    if hurt.component is Component.FLOOR and hurt.kind in _FLOOR_GIVES_WAY:
        yield HoldKind.DO_NOT_ENTER, f"the floor is {vocabulary.words_for(hurt.kind)}"
    if hurt.kind is DamageKind.CONTAMINATED:
        where = vocabulary.words_for(hurt.component)
        yield HoldKind.DO_NOT_ENTER, f"the {where} is contaminated"


def _restricts_lifting(weighed: Weighed) -> str:
    restriction = weighed.assessment.restriction
    return "" if restriction is None else restriction.lifting_empty


def _judge_place(damage: Damage, field: str, size_type: str | None) -> Iterator[Finding]:
    if damage.place is None:
        return
    try:
        place = parse_location(damage.place)
    except DamageLocationError as fault:
        words = str(fault).rstrip(".")
        yield rules.PLACE_UNREADABLE.finding(f"{field}.place", seen=damage.place, words=words)
        return
    length_ft = build_of(size_type).length_ft
    if length_ft is not None and place.is_beyond(length_ft):
        yield rules.PLACE_BEYOND.finding(
            f"{field}.place", seen=str(place), expected=f"{length_ft} ft"
        )


def _judge_unweighed(damage: Damage, hurt: Hurt, field: str) -> Iterator[Finding]:
    part = vocabulary.words_for(damage.component)
    if damage.measure is not None and not control_table.measures_of(hurt):
        yield rules.WRONG_MEASURE.finding(
            f"{field}.measure", seen=damage.measure.value, part=f"a {part}"
        )
    elif control_table.lacks_measurement(hurt):
        measures = ", ".join(control_table.measures_of(hurt))
        yield rules.UNMEASURED.finding(f"{field}.measured_mm", part=part, measures=measures)


def _weight(weighed: Weighed, field: str) -> Finding:
    """Return the finding of a damage beyond a limit, its source as sure as that limit is."""
    limit, restriction = weighed.assessment.decided_by, weighed.assessment.restriction
    assert limit is not None  # noqa: S101 - every level but `NEITHER` was decided by a limit
    rule = rules.SERIOUS if control_table.is_serious(weighed) else rules.RESTRICTED
    unit = _IN_PLAIN_UNITS[limit.unit]
    finding = rule.finding(
        field,
        seen=f"{weighed.value}{_unit(weighed)}",
        expected=f"{limit.compare} {limit.value}{unit}",
        measure=weighed.measure.value,
        part=weighed.part.value,
        restriction=_say_restriction(restriction),
    )
    certainty = limit.certainty
    if restriction is not None:
        certainty = max(certainty, restriction.certainty, key=_CERTAINTIES.index)
    return finding.model_copy(update={"source": f"{limit.source} ({certainty.value})"})


def _say_restriction(restriction: Restriction | None) -> str:
    if restriction is None:
        return ""
    said = {
        "lifting empty": restriction.lifting_empty,
        "lifting loaded": restriction.lifting_loaded,
        "stowing empty": restriction.stowing_empty,
        "stowing loaded": restriction.stowing_loaded,
    }
    return "; ".join(f"{when}: {words}" for when, words in said.items() if words)


def _unit(weighed: Weighed) -> str:
    limit = weighed.assessment.decided_by
    return "" if limit is None else _IN_PLAIN_UNITS[limit.unit]


def _judge_claim(damage: Damage, field: str, found_on: date) -> Iterator[Finding]:
    lacking = []
    if damage.responsible is None:
        lacking.append("names no firm that answers for it")
    if damage.notice_by is None and damage.notice_given_on is None:
        day = mend_dates.notice_by(damage, found_on)
        lacking.append(f"names no last day to give notice: {day} was set")
    if lacking:
        yield rules.CLAIM_INCOMPLETE.finding(field, words=" and ".join(lacking))
