"""Judge a fact: what it says about itself. A fact is recorded whatever is found."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from schemas.events.base import Event, Fact
from schemas.events.claim import ClaimNotice
from schemas.events.condition import Inspection
from schemas.events.gate import GateIn, GateOut, PreAdvice
from schemas.events.workshop import Marking, PlateChange
from schemas.findings import Severity
from schemas.readings import Masses, PlateReading
from schemas.records import Record
from shared.table_files import Certainty
from tracker.judge import (
    claims,
    gas,
    identity,
    inspection,
    leaving,
    masses,
    plate,
    size_type,
    work,
)
from tracker.judge.entry import moment_text
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.rules import Rule
from tracker.judge.subject import subject_of_mark

IN_FUTURE: Final = Rule(
    id="event.happened-in-future",
    severity=Severity.DOUBT,
    sentence="It is said to have happened at {seen}, but it was received at {expected}.",
    source="Hardstand design, two times",
    certainty=Certainty.DESIGN,
    means="The sender's clock runs ahead by more than the tolerance. The moment it was received is "
    "adopted, and the question asks for the right one.",
)
MARK_DIFFERS: Final = Rule(
    id="mark.differs",
    severity=Severity.DOUBT,
    sentence="It was read as {seen}, but this unit is known as {expected}. Was it re-marked, or is "
    "it another box?",
    source="Hardstand design, identity",
    certainty=Certainty.DESIGN,
    means="A unit known by its tag, or by a number that was settled before, was read with another "
    "sound mark. Not adopted; a report of the re-marking or the answer tells which is right.",
)
TAG_TAKEN: Final = Rule(
    id="mark.tag-taken",
    severity=Severity.DOUBT,
    sentence="The tag {seen} belongs to another unit, {expected}. On which box does it hang?",
    source="Hardstand design, identity",
    certainty=Certainty.DESIGN,
    means="Mark and tag of one report mean two units. The report stands with the mark's unit; the "
    "tag is not adopted.",
)
MARK_TAKEN: Final = Rule(
    id="mark.taken",
    severity=Severity.DOUBT,
    sentence="The mark {seen} belongs to another unit already. Which of the two bears it?",
    source="Hardstand design, identity",
    certainty=Certainty.DESIGN,
    means="A unit is said to bear a mark that another unit is known by. Not adopted; the answer "
    "tells which is which.",
)
RULES: Final = (IN_FUTURE, MARK_TAKEN, MARK_DIFFERS, TAG_TAKEN)

_NEVER_READ: Final = (None, None, None)


def judge_fact(event: Fact, record: Record, received_at: datetime, rules: Rulebook) -> Judgement:
    """Return what is to be thought of a fact about the unit of `record`.

    Args:
        event: The fact as reported.
        record: What is known of the unit; an empty record for a unit seen for the first time.
        received_at: When the report was taken in, with zone.
        rules: The house's settings.
    """
    judgement = Judgement()
    judge_identity(judgement, event, record, rules)
    if event.happened_at > received_at + rules.future_tolerance:
        seen, expected = (_minutes(moment) for moment in (event.happened_at, received_at))
        finding = IN_FUTURE.finding("happened_at", seen=seen, expected=expected)
        judgement.add([finding], ["happened_at"])
    code, door, lines = _readings(event)
    if code is not None:
        _judge_code(judgement, event, code)
    if door is not None:
        _judge_door(judgement, door, lines, code, record)
    if lines is not None:
        day = rules.day_of(min(event.happened_at, received_at), event.depot)
        found = plate.judge_plate(
            lines,
            happened_on=day,
            reading_of_month=rules.month_reading,
            size_type=code or record.size_type,
            door_gross_kg=record.gross_kg if door is None else None,
        )
        judgement.add(found.findings, found.doubted)
    _judge_what_happened(judgement, event, record, received_at, rules)
    return judgement


def _judge_what_happened(
    judgement: Judgement, event: Fact, record: Record, received_at: datetime, rules: Rulebook
) -> None:
    match event:
        case GateIn():
            claims.judge_arrival(judgement, event, received_at, rules)
        case GateOut():
            if leaving.asks_clearance(event):
                judgement.resolved[leaving.ASKS_CLEARANCE] = True
        case Inspection():
            inspection.judge_inspection(judgement, event, record, received_at, rules)
        case ClaimNotice():
            claims.judge_notice(judgement, event, record, received_at, rules)
        case Marking(new_mark=str(new_mark)):
            _judge_new_mark(judgement, new_mark, rules)
        case Marking(action="labels-removed"):
            judgement.add(gas.judge_labels(record))
        case _:
            work.judge_work(judgement, event, record, received_at, rules)


def judge_identity(judgement: Judgement, event: Event, record: Record, rules: Rulebook) -> None:
    """Judge the mark, unless the unit is already known by it, and say which mark it now bears."""
    if event.mark is None:
        return
    subject = subject_of_mark(event.mark)
    borne_since = [borne.since for borne in record.marks if borne.mark == subject]
    if borne_since or record.mark == subject:
        if isinstance(event, Fact) and borne_since:
            _adopt_earlier(judgement, event, record, subject, min(borne_since))
        return
    found = identity.judge_mark(event.mark, rules.known)
    judgement.add(found.findings)
    if found.mark is not None and record.mark is not None and record.mark_state == "good":
        differs = MARK_DIFFERS.finding("mark", seen=found.mark, expected=record.mark)
        judgement.add([differs], ["mark"])
    elif found.mark is not None:
        judgement.resolved["mark"] = found.mark
    elif record.mark is None:
        judgement.resolved["mark"] = subject
        judgement.resolved["mark_state"] = "in-question"


def _adopt_earlier(
    judgement: Judgement, event: Fact, record: Record, mark: str, since: str
) -> None:
    """Let a mark be borne since a late report of it: the order of arrival must not show."""
    if moment_text(event.happened_at) >= since:
        return
    judgement.resolved["mark"] = mark
    if mark == record.mark and record.mark_state != "good":
        judgement.resolved["mark_state"] = record.mark_state


def _judge_code(judgement: Judgement, event: Fact, code: str) -> None:
    vents = event.vents_counted if isinstance(event, Inspection) else None
    found = size_type.judge_size_type(code, vents_counted=vents)
    doubtful = any(finding.severity is Severity.DOUBT for finding in found.findings)
    judgement.add(found.findings, ["size_type"] if doubtful else ())


def _judge_door(
    judgement: Judgement,
    door: Masses,
    lines: PlateReading | None,
    code: str | None,
    record: Record,
) -> None:
    known = record.plate or {}
    if lines is None and known:
        gross_kg, gross_lb = known.get("gross_kg"), known.get("gross_lb")
        lines = PlateReading.model_construct(gross_kg=gross_kg, gross_lb=gross_lb)
    found = masses.judge_masses(door, size_type=code or record.size_type, plate=lines)
    judgement.add(found.findings, found.doubted)


def _judge_new_mark(judgement: Judgement, new_mark: str, rules: Rulebook) -> None:
    found = identity.judge_mark(new_mark, rules.known)
    judgement.add(finding.model_copy(update={"field": "new_mark"}) for finding in found.findings)
    judgement.resolved["mark"] = found.mark or subject_of_mark(new_mark)
    judgement.resolved.pop("mark_state", None)
    if found.mark is None:
        judgement.resolved["mark_state"] = "in-question"


def _readings(event: Fact) -> tuple[str | None, Masses | None, PlateReading | None]:
    match event:
        case GateIn() | Inspection():
            return event.size_type, event.masses, event.plate
        case PreAdvice():
            return event.size_type, event.masses, None
        case Marking():
            return None, event.masses, None
        case PlateChange():
            return None, None, event.plate
        case _:
            return _NEVER_READ


def _minutes(moment: datetime) -> str:
    return moment.isoformat(sep=" ", timespec="minutes")


def doubt_taken_marks(
    judgement: Judgement,
    event: Fact,
    record: Record,
    rules: Rulebook,
    is_taken: Callable[[str], bool],
) -> None:
    """Do not adopt a mark that means another unit, and ask; `is_taken` says which do."""
    if not (isinstance(event, Marking) and event.new_mark is not None):
        _keep_if_free(judgement, judgement.resolved, "mark", is_taken)
        return
    new = _taken_out(judgement.resolved)
    # What it was called before the marking; the findings about that are there already.
    before = Judgement()
    judge_identity(before, event, record, rules)
    _keep_if_free(judgement, before.resolved, "mark", is_taken)
    _keep_if_free(judgement, new, "new_mark", is_taken)
    judgement.resolved |= new or before.resolved


def _keep_if_free(
    judgement: Judgement, resolved: dict[str, Any], field: str, is_taken: Callable[[str], bool]
) -> None:
    if "mark" in resolved and is_taken(resolved["mark"]):
        taken = _taken_out(resolved)
        judgement.add([MARK_TAKEN.finding(field, seen=taken["mark"])], [field])


def _taken_out(resolved: dict[str, Any]) -> dict[str, Any]:
    return {name: resolved.pop(name) for name in ("mark", "mark_state") if name in resolved}


def doubt_taken_tag(judgement: Judgement, event: Event, other: Record) -> None:
    """Do not adopt a tag that means another unit than the mark, and ask."""
    known_as = other.mark or other.unit_id
    judgement.add([TAG_TAKEN.finding("tag", seen=event.tag, expected=known_as)], ["tag"])
