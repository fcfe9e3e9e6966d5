"""Which units of a batch need their whole history, so that one statement brings them all."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from schemas.events.base import Decision
from schemas.events.settling import Answer, Correction
from tracker.judge.entry import moment_text
from tracker.judge.subject import subjects_of
from tracker.services.in_hand import InHand
from tracker.services.working_set import Unit, WorkingSet


def units_folded_anew(work: WorkingSet, in_hand: Sequence[InHand]) -> set[UUID]:
    """Return the units with an event that settles, or that happened before what is recorded.

    A guess that costs time where it is wrong and nothing else: a history that was not fetched is
    loaded when folding asks for it.
    """
    late: set[UUID] = set()
    last: dict[UUID, str] = {}
    for one in in_hand:
        unit = _unit_of(work, one)
        if unit is None:
            continue
        before = last.setdefault(unit.unit_id, unit.record.last_key[0])
        if isinstance(one.event, Answer | Correction):
            late.add(unit.unit_id)
        elif isinstance(one.event, Decision):
            last[unit.unit_id] = max(before, moment_text(one.waiting.received_at))
        elif (moment := moment_text(one.event.happened_at)) <= before:
            late.add(unit.unit_id)
        else:
            last[unit.unit_id] = moment
    return late


def _unit_of(work: WorkingSet, one: InHand) -> Unit | None:
    match one.event:
        case Answer():
            return work.find_by_question(str(one.event.question))
        case Correction():
            return work.find_by_event(one.event.corrects)
        case _:
            return work.find(subjects_of(one.event))
