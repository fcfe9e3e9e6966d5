"""What condition an inspection speaks for, with the reasons. The inspector decides.

Being within the limits of the control table proves nothing: these are limits for going out of
service. Cargo-worthy is proposed only where everything that is asked of an export unit was looked
at and found good, nothing structural is damaged however little, it is clean and nothing urgent is
open, the light test was made by two, and plate and examination are in order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from schemas.events.condition import Condition, Damage, Found, Inspection, Urgency
from schemas.events.deal import IntendedUse
from schemas.records import OpenDamage, Record
from shared import damage as vocabulary
from shared.checklist import AnswerKind, Check, Proves
from shared.damage import Component, DamageKind
from shared.months import Month
from shared.structural_limits import Level
from tracker.judge import control_table
from tracker.judge.checklist import build_of, checks_for
from tracker.judge.control_table import PARTS, Hurt
from tracker.judge.damage import hurt_by, is_one_door_off, say_weight
from tracker.judge.gas import was_aired

_LETS_WEATHER_IN: Final = frozenset(
    {
        DamageKind.HOLED,
        DamageKind.CUT,
        DamageKind.CRACKED,
        DamageKind.BROKEN,
        DamageKind.LEAKING,
        DamageKind.BLOW_OUT,
        DamageKind.ROTTED,
        DamageKind.BURNED,
        DamageKind.MISSING,
    }
)
_NOT_CLEAN: Final = frozenset(
    {
        DamageKind.CONTAMINATED,
        DamageKind.ODOUR,
        DamageKind.OIL_STAINED,
        DamageKind.DEBRIS,
        DamageKind.DIRTY,
        DamageKind.NAILS,
    }
)
_COMPONENTS: Final = frozenset(Component)
_SKIN: Final = frozenset(
    {
        Component.SIDE_PANEL,
        Component.FRONT_PANEL,
        Component.ROOF_PANEL,
        Component.DOOR_PANEL,
        Component.DOOR_GASKET,
        Component.FLOOR,
        Component.SMALL_VENT,
        Component.LOUVRE_VENT,
        Component.WHOLE_CONTAINER,
    }
)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The condition spoken for, None where too little was looked at; `reasons` in plain words."""

    condition: Condition | None
    reasons: tuple[str, ...]


def propose_condition(
    record: Record, inspection: Inspection, *, on: date | None = None
) -> Proposal:
    """Return the condition that the unit's open damage and what was looked at speak for.

    Args:
        record: The unit before this inspection.
        inspection: What was found. Its own `condition` is not looked at.
        on: The day for which the examination must hold; None is the day it happened, in UTC.
    """
    hurts = [*_hurts(record), *map(hurt_by, inspection.damages)]
    if against := (*_grave(record, hurts), *_lets_weather_in(inspection, hurts)):
        return Proposal(Condition.AS_IS, against)
    asked = _asked(record, inspection)
    not_good = list(_not_shown(inspection, asked))
    if lacking := tuple(why for check, why in not_good if check.proves is Proves.WEATHER):
        return Proposal(None, lacking)
    day = on or inspection.happened_at.date()
    short = (
        *(why for _, why in not_good),
        *_structural(hurts),
        *_stands_against_cargo(record, inspection),
        *_papers(record, inspection, day),
    )
    if short:
        has_roof = any(check.id in _ROOFS for check in asked)
        return Proposal(Condition.WIND_AND_WATERTIGHT if has_roof else None, short)
    return Proposal(Condition.CARGO_WORTHY, (_ALL_GOOD,))


_ROOFS: Final = frozenset({"roof", "roof-cover"})
"""A box that is asked neither, a platform or a tank, is never called wind and watertight."""

_ALL_GOOD: Final = (
    "Everything asked of an export unit was looked at and found good, no structural part is "
    "damaged, the light test showed no daylight, plate and examination are in order."
)


def deficiencies(record: Record, inspection: Inspection) -> tuple[str, ...]:
    """Return every damage beyond a limit of the control table, in words."""
    return tuple(_grave(record, [*_hurts(record), *map(hurt_by, inspection.damages)]))


def _hurts(record: Record) -> list[Hurt]:
    return [hurt for one in record.damages if (hurt := control_table.hurt_of(one)) is not None]


def _grave(record: Record, hurts: Iterable[Hurt]) -> Iterator[str]:
    one_door_off = is_one_door_off(record)
    for hurt in hurts:
        weighed = control_table.weigh(hurt, one_door_off=one_door_off)
        if weighed is not None and weighed.assessment.level is not Level.NEITHER:
            level = weighed.assessment.level.value
            yield f"{say_weight(weighed)} is {level} by the control table."


def _lets_weather_in(inspection: Inspection, hurts: Iterable[Hurt]) -> Iterator[str]:
    for hurt in hurts:
        if hurt.component in _SKIN and hurt.kind in _LETS_WEATHER_IN:
            where, what = vocabulary.words_for(hurt.component), vocabulary.words_for(hurt.kind)
            yield f"The {where} is {what}, so water may come in."
    if inspection.light_test is not None and inspection.light_test.daylight_seen:
        yield "Daylight was seen in the light test."
    answers = inspection.answers or {}
    for item in _ENDS_TIGHTNESS:
        answer = answers.get(item)
        if answer is not None and answer.found in _NOT_GOOD:
            yield f"The item {item} was found {answer.found.value}."


_GOOD: Final = Found.GOOD
_LIGHT: Final = AnswerKind.LIGHT
_NOT_GOOD: Final = (Found.DAMAGED, Found.MISSING)
_ENDS_TIGHTNESS: Final = ("gaskets", "roof-cover")
"""Items whose damage of any kind lets water in, also where no damage was described."""


def _asked(record: Record, inspection: Inspection) -> tuple[Check, ...]:
    build = build_of(inspection.size_type or record.size_type)
    return checks_for(record, build, IntendedUse.EXPORT)


def _not_shown(inspection: Inspection, asked: Iterable[Check]) -> Iterator[tuple[Check, str]]:
    """Give each item asked that was not found good, with why; gas and plate are looked at apart."""
    answers = inspection.answers or {}
    for check in asked:
        answer = answers.get(check.id)
        if answer is not None and answer.found is _GOOD and check.answer is not _LIGHT:
            continue
        if check.answer is _LIGHT:
            if not _was_tested_by_two(inspection):
                yield check, "No light test by two people is told."
        elif check.answer in (AnswerKind.GAS, AnswerKind.PLATE):
            continue
        elif answer is None or answer.found is Found.NOT_LOOKED_AT:
            yield check, f"Not looked at: {check.id}."
        elif answer.found in _NOT_GOOD:
            yield check, f"Found {answer.found.value}: {check.id}."


def _was_tested_by_two(inspection: Inspection) -> bool:
    test = inspection.light_test
    return test is not None and test.second_person is not None and test.second_person != test.by


def _structural(hurts: Iterable[Hurt]) -> Iterator[str]:
    for hurt in hurts:
        if hurt.component in PARTS:
            where = vocabulary.words_for(hurt.component)
            yield (
                f"The {where} is {vocabulary.words_for(hurt.kind)}: to be within the limits of "
                "the control table does not make a box cargo-worthy."
            )


def _stands_against_cargo(record: Record, inspection: Inspection) -> Iterator[str]:
    """Give what else is open on a box that is to carry cargo: holds, air, dirt, urgent repairs."""
    for hold in record.holds:
        yield f"A hold stands: {hold.hold}."
    not_clear = inspection.gas is not None and inspection.gas.result == "not-clear"
    if not_clear or (record.air == "suspect" and not was_aired(inspection)):
        yield "The air inside is suspect."
    damages: list[OpenDamage | Damage] = [*record.damages, *inspection.damages]
    for damage in damages:
        what = f"{damage.kind} on {damage.component}"
        if damage.urgency == Urgency.BEFORE_RELEASE:
            yield f"To be mended before release: {what}."
        elif damage.kind in _NOT_CLEAN:
            yield f"Not clean: {what}."
        elif damage.component not in _COMPONENTS:
            yield f"A damage that nobody can weigh: {what}."


def _papers(record: Record, inspection: Inspection, day: date) -> Iterator[str]:
    """Give what plate, approval and examination lack for a box that is to travel."""
    read = inspection.plate
    if (read is None or read.no_plate) and record.plate is None:
        yield "No safety plate was read."
        return
    if record.approval in ("ask", "void"):
        yield "The safety approval is in question or void."
    if read is not None and read.no_plate:
        yield "No safety plate was found."
    elif not _is_examined(record, inspection, day):
        yield "No examination that is still to come is marked, and no programme."


def _is_examined(record: Record, inspection: Inspection, day: date) -> bool:
    """Say whether a programme holds, or the marked month is still to come (strict reading)."""
    read = inspection.plate
    if record.next_examination == "programme" or (read is not None and read.programme):
        return True
    marked = read.next_examination if read is not None else None
    if marked is None and record.next_examination is not None:
        marked = Month.parse(record.next_examination)
    return marked is not None and day < marked.first_day()
