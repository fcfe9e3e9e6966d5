"""Carry out an answer or a correction within a batch, in one history or in two."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from schemas.events.settling import Answer, Correction
from schemas.findings import Finding
from schemas.records import Record
from tracker.judge import settling, settling_rules
from tracker.judge.entry import Entry, moment_text
from tracker.judge.judgement import Rulebook
from tracker.judge.settling import Settling, Stand
from tracker.judge.subject import other_subject_of
from tracker.services.in_hand import InHand
from tracker.services.working_set import Unit, WorkingSet
from tracker.store import marks


@dataclass(slots=True)
class Settled:
    """What became of it: recorded as `seq` of `unit`, or refused with findings."""

    findings: list[Finding] = field(default_factory=list)
    unit: Unit | None = None
    seq: int | None = None


def settle(work: WorkingSet, event: Answer | Correction, one: InHand, rules: Rulebook) -> Settled:
    """Judge and carry out what an answer or correction asks for."""
    here = _unit_of(work, event)
    if here is None:
        return Settled([_nothing_there(event)])
    there, is_new = _other_unit(work, event, here)
    result = _judge(work, event, one, here, there, rules)
    if result.is_refused:
        return Settled(result.findings, here)
    if there is not None and is_new and result.there is not None:
        there = work.open(event.id)
        work.name(there, [str(other_subject_of(event))])
    seq = _record(work, here, one, result.here)
    if result.there is not None and there is not None:
        _record(work, there, one, result.there)
        _move(work, result, here, there, one)
    elif result.repoint is not None:
        work.point(here, result.repoint)
    return Settled(result.findings, here, seq)


def _unit_of(work: WorkingSet, event: Answer | Correction) -> Unit | None:
    if isinstance(event, Answer):
        return work.find_by_question(str(event.question))
    return work.find_by_event(event.corrects)


def _nothing_there(event: Answer | Correction) -> Finding:
    if isinstance(event, Answer):
        return settling_rules.NO_QUESTION.finding("question", seen=str(event.question))
    return settling_rules.NO_EVENT.finding("corrects", seen=str(event.corrects))


def _other_unit(
    work: WorkingSet, event: Answer | Correction, here: Unit
) -> tuple[Unit | None, bool]:
    """Return the other unit that the event speaks of, and whether it would be a new one.

    An answer with an unknown mark names the unit here; a correction with one opens another.
    """
    subject = other_subject_of(event)
    if subject is None:
        return None, False
    there = work.find([subject])
    if there is here:
        return None, False
    if there is None and isinstance(event, Correction):
        return Unit(event.id, here.head, earlier=[], record=Record(str(event.id))), True
    return there, False


def _judge(
    work: WorkingSet,
    event: Answer | Correction,
    one: InHand,
    here: Unit,
    there: Unit | None,
    rules: Rulebook,
) -> Settling:
    stand = Stand(here.record, work.history_of(here))
    other = None if there is None else Stand(there.record, work.history_of(there))
    if isinstance(event, Answer):
        return settling.judge_answer(event, stand, other, one.waiting.received_at, rules)
    changes: dict[str, Any] = one.payload.get("changes", {})
    return settling.judge_correction(event, stand, other, one.waiting.received_at, rules, changes)


def _record(work: WorkingSet, unit: Unit, one: InHand, resolved: dict[str, Any]) -> int:
    entry = Entry(
        event_id=str(one.event.id),
        kind=one.event.kind,
        effective_at=moment_text(one.waiting.received_at),
        payload=one.payload,
        resolved=resolved,
    )
    return work.record_entry(unit, entry)[1]


def _move(work: WorkingSet, result: Settling, here: Unit, there: Unit, one: InHand) -> None:
    marks.note_moves(work.connection, result.moved, here.unit_id, there.unit_id, one.event.id)
    for event_id in result.moved:
        work.stream_of_event[event_id] = there.unit_id
    if "merged_into" in result.here:
        work.merge(here, there)
