"""Judge a fact: what it says about itself. A fact is recorded whatever is found."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from schemas.events.base import Event, Fact
from schemas.events.condition import Inspection
from schemas.events.gate import GateIn, PreAdvice
from schemas.events.workshop import Marking, PlateChange
from schemas.findings import Severity
from schemas.readings import Masses, PlateReading
from schemas.records import Record
from shared import marks
from shared.table_files import Certainty
from tracker.judge import identity, inspection, masses, plate, size_type
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.rules import Rule

IN_FUTURE: Final = Rule(
    id="event.happened-in-future",
    severity=Severity.DOUBT,
    sentence="It is said to have happened at {seen}, but it was received at {expected}.",
    source="Hardstand design, two times",
    certainty=Certainty.DESIGN,
    means="The sender's clock runs ahead by more than the tolerance. The moment it was received is "
    "adopted, and the question asks for the right one.",
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
RULES: Final = (IN_FUTURE, MARK_TAKEN)

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
    if isinstance(event, Inspection):
        inspection.judge_inspection(judgement, event, record, received_at, rules)
    elif isinstance(event, Marking) and event.new_mark is not None:
        _judge_new_mark(judgement, event.new_mark, rules)
    return judgement


def judge_identity(judgement: Judgement, event: Event, record: Record, rules: Rulebook) -> None:
    """Judge the mark, unless the unit is already known by it, and say which mark it now bears."""
    if event.mark is None:
        return
    subject = marks.normalise(event.mark)
    if record.mark is not None and subject in (record.mark, record.mark[:10]):
        return
    if any(subject in (borne.mark, borne.mark[:10]) for borne in record.marks):
        return
    found = identity.judge_mark(event.mark, rules.known)
    judgement.add(found.findings)
    if found.mark is not None:
        judgement.resolved["mark"] = found.mark
    elif record.mark is None:
        judgement.resolved["mark"] = subject or event.mark
        judgement.resolved["mark_state"] = "in-question"


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
    judgement.resolved["mark"] = found.mark or marks.normalise(new_mark) or new_mark
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


def doubt_taken_mark(judgement: Judgement, event: Fact) -> None:
    """Take back the adoption of a mark that means another unit, and ask."""
    taken = judgement.resolved.pop("mark")
    judgement.resolved.pop("mark_state", None)
    field = "new_mark" if isinstance(event, Marking) else "mark"
    judgement.add([MARK_TAKEN.finding(field, seen=taken)], [field])
