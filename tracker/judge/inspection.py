"""Judge an inspection: the air, the plate, the damage, the light test, the answers, the condition.

The rules stand in `tracker.judge.inspection_rules`, `damage_rules` and `gas`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import cache, lru_cache
from typing import Final

from schemas.events.condition import Condition, Damage, Found, Inspection, Urgency
from schemas.findings import Finding
from schemas.records import Record
from shared import checklist, expectations
from tracker.judge import control_table, damage, gas, mend_dates
from tracker.judge import inspection_rules as rules
from tracker.judge.checklist import build_of, practice_provenance
from tracker.judge.condition_proposal import deficiencies, propose_condition
from tracker.judge.damage_rules import CARGO_WORTHY
from tracker.judge.judgement import Judgement, Rulebook

RULES: Final = rules.RULES

_GOOD: Final = Found.GOOD
_NOT_GOOD: Final = (Found.DAMAGED, Found.MISSING)


def judge_inspection(
    judgement: Judgement,
    event: Inspection,
    record: Record,
    received_at: datetime,
    rules: Rulebook,
) -> None:
    """Add what an inspection gives rise to, its readings apart, which `facts` judges.

    Resolves per damage `urgency`, and `mend_by` and `notice_by`, a day or None; and
    `entered_unaired`, from which the fold tells a breach by what is known of the air at that
    moment.
    """
    judgement.add(_judge_plate(event, record))
    unaired = gas.was_entered(event) and not gas.was_aired(event)
    if unaired:
        judgement.resolved["entered_unaired"] = True
    if unaired or event.gas is not None or record.air == "suspect":
        judgement.add(gas.judge_gas(event, record, unaired=unaired))
    if event.damages:
        _judge_damages(judgement, event, record, received_at, rules)
    if event.light_test is not None:
        judgement.add(_judge_light_test(event))
    if event.marks_in_place is False:
        judgement.add([_marks_not_in_place()])
    if event.answers or event.vents_counted is not None:
        judgement.add(_judge_answers(event, record))
    if event.condition is not None and _tells_of_condition(event, record):
        judgement.add(_judge_condition(event, record))


def _judge_plate(event: Inspection, record: Record) -> Iterator[Finding]:
    read = event.plate
    if read is None:
        if record.plate is None and record.approval != "none":
            yield _plate_not_read()
    elif not read.no_plate and read.photo is None:
        yield rules.PLATE_WITHOUT_PHOTO.finding("plate.photo")


@cache
def _plate_not_read() -> Finding:
    # Common in a yard that does not read plates yet, so it is made once only.
    return rules.PLATE_NOT_READ.finding("plate")


@cache
def _marks_not_in_place() -> Finding:
    return rules.MARKS_NOT_IN_PLACE.finding("marks_in_place", seen=False, expected=True)


def _judge_damages(
    judgement: Judgement,
    event: Inspection,
    record: Record,
    received_at: datetime,
    rules: Rulebook,
) -> None:
    found_on = rules.day_of(min(event.happened_at, received_at), event.depot)
    code = event.size_type or record.size_type
    for number, one in enumerate(event.damages, start=1):
        judgement.add(damage.judge_damage(one, f"damages.{number}", record, code, found_on))
    judgement.add(damage.propose_holds(event.damages, record))
    urgencies = [_urgency(one, record) for one in event.damages]
    mend_by = [
        mend_dates.mend_by(one, urgency, found_on)
        for one, urgency in zip(event.damages, urgencies, strict=True)
    ]
    notice_by = [mend_dates.notice_by(one, found_on) for one in event.damages]
    judgement.resolved["urgency"] = [urgency.value for urgency in urgencies]
    judgement.resolved["mend_by"] = [day and day.isoformat() for day in mend_by]
    judgement.resolved["notice_by"] = [day and day.isoformat() for day in notice_by]


def _urgency(one: Damage, record: Record) -> Urgency:
    weighed = control_table.weigh(damage.hurt_by(one), one_door_off=damage.is_one_door_off(record))
    return mend_dates.urgency_of(one, is_serious=control_table.is_serious(weighed))


def _judge_light_test(event: Inspection) -> Iterator[Finding]:
    test = event.light_test
    if test is None:
        return
    if test.second_person is None or test.second_person == test.by:
        yield rules.LIGHT_TEST_ALONE.finding("light_test.second_person")
    if test.daylight_seen and not event.damages:
        yield rules.DAYLIGHT_UNTOLD.finding("light_test.daylight_seen", seen=True)


def _judge_answers(event: Inspection, record: Record) -> Iterator[Finding]:
    answers, known = event.answers or {}, checklist.checks_by_id()
    if unknown := answers.keys() - known.keys():
        yield rules.ITEM_UNKNOWN.finding("answers", seen=", ".join(sorted(unknown)))
    bad = []
    for item, answer in answers.items():
        if answer.found is not _GOOD and answer.found in _NOT_GOOD:
            bad.append(item)
        value = answer.measured_mm if answer.count is None else answer.count
        if value is not None and item in known and known[item].part:
            yield from _unusual(known[item].part, f"answers.{item}", value, event, record)
    if bad and not event.damages:
        yield rules.NO_DAMAGE_TOLD.finding("answers", seen=", ".join(bad))
    if event.vents_counted is not None and "small-vents" not in answers:
        yield from _unusual("small-vents", "vents_counted", event.vents_counted, event, record)


def _unusual(
    part: str, field: str, value: int, event: Inspection, record: Record
) -> Iterator[Finding]:
    length_ft = build_of(event.size_type or record.size_type).length_ft
    words = _what_is_expected(part, value, length_ft, practice_provenance(record.provenance))
    if words is not None:
        yield rules.EXPECTATION_UNUSUAL.finding(
            field, seen=value, expected=words, item=part.replace("-", " ").capitalize()
        )


@lru_cache(maxsize=4096)
def _what_is_expected(
    part: str, value: int, length_ft: int | None, provenance: str | None
) -> str | None:
    """Return what is expected instead of an unusual value; None where it is fine or unknown."""
    about = expectations.list_expectations(part, length_ft=length_ft, provenance=provenance)
    expected = [one for one in about if one.fits(value) is not None]
    if not expected or any(one.fits(value) for one in expected):
        return None
    return " ".join(one.words for one in expected)


def _tells_of_condition(event: Inspection, record: Record) -> bool:
    """Say whether there is anything a condition could follow from; most reports have nothing."""
    return bool(event.answers or event.damages or event.light_test or record.damages)


def _judge_condition(event: Inspection, record: Record) -> Iterator[Finding]:
    decided = event.condition
    if decided is None:
        return
    if decided is Condition.CARGO_WORTHY and (words := deficiencies(record, event)):
        said = " ".join(words).rstrip(".")
        yield CARGO_WORTHY.finding("condition", seen=decided.value, words=said)
        return
    proposal = propose_condition(record, event)
    if proposal.condition is not None and proposal.condition is not decided:
        yield rules.CONDITION_DIFFERS.finding(
            "condition",
            seen=decided.value,
            expected=proposal.condition.value,
            words=" ".join(proposal.reasons),
        )
