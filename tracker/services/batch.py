"""Judge one batch of a lane's events in one transaction: load, judge, fold, write.

The batch is read whole, its streams are locked in sorted order, each event is judged in memory
against what the ones before it made of the record, and all that changed is written set-based.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from sqlalchemy import Connection

from schemas.events.base import Fact
from schemas.events.settling import Answer, Correction
from schemas.events.union import EVENT
from schemas.findings import Finding
from schemas.records import Record
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import Entry, moment_text
from tracker.judge.facts import doubt_taken_mark, judge_fact
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.subject import other_subject_of, subjects_of
from tracker.services import consequences, reading, settlement
from tracker.services.faults import PoisonedEventError
from tracker.services.in_hand import InHand
from tracker.services.working_set import Unit, WorkingSet
from tracker.store import intake, marks, people, questions, receipts
from tracker.store.intake import Waiting
from tracker.store.receipts import ReceiptRow


@dataclass(slots=True)
class Outcome:
    """What a batch came to."""

    recorded: int = 0
    refused: int = 0
    event_ids: list[UUID] = field(default_factory=list)


class Batch:
    """One batch. Owns no transaction: whoever made the connection commits or rolls back."""

    def __init__(
        self, connection: Connection, key: bytes, rules: Rulebook, recorded_at: datetime
    ) -> None:
        self._connection = connection
        self._key = key
        self._rules = rules
        self._work = WorkingSet(connection, recorded_at)
        self._receipts: list[ReceiptRow] = []

    def judge(self, claimed: Sequence[Waiting]) -> Outcome:
        """Judge all claimed events and write what came of them.

        Raises:
            PoisonedEventError: One event broke the judge; nothing of the batch may be committed.
        """
        known = receipts.which_have(self._connection, [one.event_id for one in claimed])
        fresh = [one for one in claimed if one.event_id not in known]
        in_hand = self._read(fresh)
        self._load(in_hand)
        for one in in_hand:
            try:
                self._judge_one(one)
            except Exception as fault:
                raise PoisonedEventError(one.waiting, fault) from fault
        consequences.write(self._connection, self._work, self._rules)
        receipts.write(self._connection, self._receipts)
        intake.remove(self._connection, [one.position for one in claimed])
        recorded = sum(receipt.outcome == "recorded" for receipt in self._receipts)
        ids = [one.event_id for one in claimed]
        return Outcome(recorded, len(self._receipts) - recorded, ids)

    def _read(self, claimed: Iterable[Waiting]) -> list[InHand]:
        parsed = [(one, reading.parse_text(one.body)) for one in claimed]
        values = set[str]().union(*(reading.personal_values(payload) for _, payload in parsed))
        tokens = people.tokens_for(self._connection, self._key, values)
        in_hand = []
        for one, payload in parsed:
            told = reading.with_tokens(payload, tokens)
            try:
                in_hand.append(InHand(one, EVENT.validate_json(orjson.dumps(told)), told))
            except ValueError as fault:
                raise PoisonedEventError(one, fault) from fault
        return in_hand

    def _load(self, in_hand: Sequence[InHand]) -> None:
        """Lock and load all units that the events speak of.

        Marks may come to mean another unit between looking them up and locking; then once more.
        """
        subjects = {subject for one in in_hand for subject in subjects_of(one.event)}
        subjects |= {other for one in in_hand if (other := other_subject_of(one.event))}
        asked = {one.event.question for one in in_hand if isinstance(one.event, Answer)}
        corrected = {one.event.corrects for one in in_hand if isinstance(one.event, Correction)}
        meaning = marks.resolve(self._connection, subjects)
        while True:
            by_question = questions.unit_of(self._connection, asked)
            by_event = receipts.streams_of(self._connection, corrected)
            units = {*meaning.values(), *by_question.values(), *by_event.values()}
            self._work.load(meaning, units)
            again = marks.resolve(self._connection, subjects)
            if again == meaning:
                break
            meaning = again
        self._work.stream_of_event = {str(event): unit for event, unit in by_event.items()}

    def _judge_one(self, one: InHand) -> None:
        event = one.event
        if isinstance(event, Answer | Correction):
            done = settlement.settle(self._work, event, one, self._rules)
            self._write_receipt(one, done.findings, done.unit, done.seq)
            return
        subjects = subjects_of(event)
        unit = self._work.find(subjects)
        if isinstance(event, Fact):
            record = unit.record if unit else Record("")
            judgement = judge_fact(event, record, one.waiting.received_at, self._rules)
            self._doubt_taken_mark(judgement, event, unit)
        else:
            record_or_none = unit.record if unit else None
            judgement = judge_decision(event, record_or_none, one.waiting.received_at, self._rules)
            if judgement.is_refused:
                self._write_receipt(one, judgement.findings, unit, None)
                return
        unit = unit or self._work.open(event.id)
        self._work.name(unit, subjects)
        if (new_mark := other_subject_of(event)) and "mark" in judgement.resolved:
            self._work.name(unit, [new_mark])
        told, seq = self._work.record_entry(unit, _entry(one, judgement))
        self._write_receipt(one, [*judgement.findings, *told], unit, seq)

    def _doubt_taken_mark(self, judgement: Judgement, event: Fact, unit: Unit | None) -> None:
        mark = judgement.resolved.get("mark")
        if mark is None or unit is None:
            return
        means = self._work.find([mark])
        if means is not None and means is not unit:
            doubt_taken_mark(judgement, event)

    def _write_receipt(
        self, one: InHand, findings: Sequence[Finding], unit: Unit | None, seq: int | None
    ) -> None:
        told: list[dict[str, Any]] = [finding.model_dump(mode="json") for finding in findings]
        self._receipts.append(
            ReceiptRow(
                event_id=one.waiting.event_id,
                digest=one.waiting.digest,
                outcome="refused" if seq is None else "recorded",
                stream_id=unit.unit_id if unit else None,
                seq=seq,
                findings=receipts.findings_text(told),
                received_at=one.waiting.received_at,
                recorded_at=self._work.recorded_at,
            )
        )


def _entry(one: InHand, judgement: Judgement) -> Entry:
    """Return the entry of a judged event: a fact when it happened, a decision when it was asked."""
    event, received_at = one.event, one.waiting.received_at
    happened = isinstance(event, Fact) and "happened_at" not in judgement.doubted
    return Entry(
        event_id=str(event.id),
        kind=event.kind,
        effective_at=moment_text(event.happened_at if happened else received_at),
        payload=one.payload,
        doubted=judgement.doubted,
        resolved=judgement.resolved,
        findings=[finding.model_dump(mode="json") for finding in judgement.findings],
    )
