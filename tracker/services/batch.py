"""Judge one batch of a lane's events in one transaction: load, judge, fold, write.

The batch is read whole, its streams are locked in sorted order, each event is judged in memory
against what the ones before it made of the record, and all that changed is written set-based.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from time import monotonic
from typing import Any, Final, Self
from uuid import UUID

import orjson
import psycopg
from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError

from schemas.events.base import Decision, Fact
from schemas.events.deal import Cancellation, Order, PassingOn, Release, Reservation, Sale
from schemas.events.gate import Clearance, GateIn
from schemas.events.settling import Answer, Correction
from schemas.events.union import EVENT
from schemas.findings import Finding
from schemas.records import Record
from tracker.judge.decisions import judge_decision, refuse_two_units
from tracker.judge.entry import Entry, Key, Payload, moment_after, moment_text
from tracker.judge.facts import doubt_taken_marks, doubt_taken_tag, judge_fact
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.orders import leaves_orders_short
from tracker.judge.passing import NEW_REFERENCE
from tracker.judge.presence import has_left_its_tag
from tracker.judge.release_rules import override
from tracker.judge.subject import (
    order_of,
    other_subject_of,
    reference_of,
    reference_subject,
    subjects_of,
)
from tracker.services import consequences, ordering, reading, settlement
from tracker.services.faults import PoisonedEventError
from tracker.services.folded_anew import units_folded_anew
from tracker.services.free_stock import FreeStock
from tracker.services.in_hand import InHand
from tracker.services.stream import Stream
from tracker.services.working_set import Unit, WorkingSet
from tracker.store import intake, marks, orders, people, questions, receipts, records
from tracker.store.intake import Waiting
from tracker.store.receipts import ReceiptRow

_CLAIMS: Final = (Order, Reservation, Sale, Release, Clearance)
"""What takes units out of the free stock, or promises them."""


@dataclass(slots=True)
class Outcome:
    """What a batch came to."""

    recorded: int = 0
    refused: int = 0
    event_ids: list[UUID] = field(default_factory=list)
    is_whole: bool = True
    """False when time was up before all were judged; the others wait on."""
    stock_changed: set[str] = field(default_factory=set)
    """The depots whose free stock or promises are others than before."""


class _Blame:
    """Sets aside the event in hand when something goes wrong, unless the database is what does.

    Entered once for many events: entering for each took a twentieth of a batch.
    """

    def __init__(self) -> None:
        self.in_hand: Waiting | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, fault: BaseException | None, _trace: object
    ) -> None:
        if self.in_hand is None or isinstance(fault, SQLAlchemyError | psycopg.Error):
            return
        if isinstance(fault, Exception):
            raise PoisonedEventError(self.in_hand, fault) from fault


class Batch:
    """One batch. Owns no transaction: whoever made the connection commits or rolls back."""

    def __init__(
        self,
        connection: Connection,
        key: bytes,
        rules: Rulebook,
        recorded_at: datetime,
        *,
        mails_questions: bool = True,
    ) -> None:
        self._mails_questions = mails_questions
        self._connection = connection
        self._key = key
        self._rules = rules
        self._work = WorkingSet(connection, recorded_at)
        self._stock = FreeStock(self._work)
        self._receipts: list[ReceiptRow] = []

    def judge(self, claimed: Sequence[Waiting], stop_at: float = math.inf) -> Outcome:
        """Judge all claimed events and write what came of them.

        Args:
            claimed: The events, in order.
            stop_at: On the clock of `monotonic`; whoever is not judged by then is left waiting, but
                for the first. Each late fact folds its unit's whole history anew: a thousand of
                them about one unit would outlast the transaction.

        Raises:
            PoisonedEventError: One event broke the judge; nothing of the batch may be committed.
        """
        known = receipts.which_have(self._connection, [one.event_id for one in claimed])
        fresh = [one for one in claimed if one.event_id not in known]
        in_hand = self._read(fresh)
        self._load(in_hand)
        left: set[int] = set()
        with _Blame() as blame:
            for count, one in enumerate(in_hand):
                if count and monotonic() > stop_at:
                    left = {late.waiting.position for late in in_hand[count:]}
                    break
                blame.in_hand = one.waiting
                self._judge_one(one)
        done = [one for one in claimed if one.position not in left]
        consequences.write(
            self._connection, self._work, self._rules, mails_questions=self._mails_questions
        )
        receipts.write(self._connection, self._receipts)
        intake.remove(self._connection, [one.position for one in done])
        recorded = sum(receipt.outcome == "recorded" for receipt in self._receipts)
        return Outcome(
            recorded,
            len(self._receipts) - recorded,
            [one.event_id for one in done],
            is_whole=not left,
            stock_changed=self._stock_changed(),
        )

    def _stock_changed(self) -> set[str]:
        changed = {stream.order.depot for stream in self._work.orders.values() if stream.lines}
        for unit in self._work.units.values():
            if unit.lines:
                changed |= unit.depots_of_stock_changed()
        return changed

    def _read(self, claimed: Iterable[Waiting]) -> list[InHand]:
        parsed: list[tuple[Waiting, Payload]] = []
        values: set[str] = set()
        with _Blame() as blame:
            for one in claimed:
                blame.in_hand = one
                payload = reading.parse_text(one.body)
                values |= reading.personal_values(payload)
                parsed.append((one, payload))
        tokens = people.tokens_for(self._connection, self._key, values)
        in_hand = []
        with _Blame() as blame:
            for one, payload in parsed:
                blame.in_hand = one
                told = reading.with_tokens(payload, tokens)
                in_hand.append(InHand(one, EVENT.validate_json(orjson.dumps(told)), told))
        return in_hand

    def _load(self, in_hand: Sequence[InHand]) -> None:
        """Lock and load all units that the events speak of.

        What is named may come to stand with another unit between looking it up and locking, by
        whoever held the lock before; then once more.
        """
        subjects = {subject for one in in_hand for subject in subjects_of(one.event)}
        subjects |= {other for one in in_hand if (other := other_subject_of(one.event))}
        asked = {one.event.question for one in in_hand if isinstance(one.event, Answer)}
        corrected = {one.event.corrects for one in in_hand if isinstance(one.event, Correction)}
        subjects |= {known for one in in_hand if (known := reference_of(one.event))}
        ordered = {order for one in in_hand if (order := order_of(one.event))}
        cancelled = {one.event.cancels for one in in_hand if isinstance(one.event, Cancellation)}
        found = self._look_up(subjects, asked, corrected | cancelled)
        while True:
            meaning, by_question, by_event = found
            units = {*meaning.values(), *by_question.values(), *by_event.values(), *ordered}
            locked = self._lock_stock(in_hand, units)
            self._work.load(meaning, units)
            again = self._look_up(subjects, asked, corrected | cancelled)
            returned_to = self._work.orders_of_sales(cancelled)
            if again == found and returned_to <= ordered and self._is_locked(in_hand, locked):
                break
            found = again
            ordered |= returned_to
        self._work.stream_of_event = {str(event): unit for event, unit in by_event.items()}
        self._work.fetch_histories(units_folded_anew(self._work, in_hand))

    def _look_up(
        self, subjects: Collection[str], asked: Collection[UUID], events: Collection[UUID]
    ) -> tuple[dict[str, UUID], dict[UUID, UUID], dict[UUID, UUID]]:
        """Return where subjects lead, and with what questions and events stand."""
        return (
            marks.resolve(self._connection, subjects),
            questions.unit_of(self._connection, asked),
            receipts.streams_of(self._connection, events),
        )

    def _judge_one(self, one: InHand) -> None:
        event = one.event
        if isinstance(event, Answer | Correction):
            done = settlement.settle(self._work, event, one, self._rules)
            self._write_receipt(one, done.findings, done.unit, done.seq)
            return
        reference = self._new_reference(event)
        if isinstance(event, Decision) and ordering.concerns_order(self._work, event):
            result = ordering.carry_out(self._work, self._stock, one, self._rules, reference)
            self._write_receipt(one, result.findings, result.stream, result.seq)
            return
        subjects = subjects_of(event)
        unit, other, freed = self._find_units(event, subjects)
        if isinstance(event, Fact):
            judgement = self._judge_fact(event, one.waiting.received_at, unit, other)
        elif other is not None:
            judgement = refuse_two_units(event)
        else:
            record = unit.record if unit else None
            judgement = judge_decision(event, record, one.waiting.received_at, self._rules)
            self._judge_claims(judgement, event, unit, reference)
        if judgement.is_refused:
            self._write_receipt(one, judgement.findings, unit, None)
            return
        unit = unit or self._work.open(event.id)
        if freed is not None:
            self._work.point(unit, freed)
        self._name(unit, event, subjects, judgement)
        told, seq = self._work.record_entry(unit, _entry(one, judgement, unit.record.last_key))
        self._write_receipt(one, [*judgement.findings, *told], unit, seq)

    def _new_reference(self, event: Fact | Decision) -> str:
        """Return the collection reference that a release or a passing-on may give; others none."""
        gives = isinstance(event, Release | PassingOn)
        return reading.reference_for(self._key, event.id) if gives else ""

    def _find_units(
        self, event: Fact | Decision, subjects: list[str]
    ) -> tuple[Unit | None, Unit | None, str | None]:
        """Return the unit of an event, another it names, and a tag that is free for it again."""
        if isinstance(event, GateIn) and event.tag is not None:
            *mark, tag = subjects
            last, known = self._work.find([tag]), self._work.find(mark)
            if last is not None and last is not known and has_left_its_tag(last.record, event):
                return known, None, tag
        return *self._work.find_both(subjects), None

    def _judge_fact(
        self, event: Fact, received_at: datetime, unit: Unit | None, other: Unit | None
    ) -> Judgement:
        record = unit.record if unit else Record("")
        judgement = judge_fact(event, record, received_at, self._rules)
        if "mark" in judgement.resolved:

            def is_taken(mark: str) -> bool:
                means = self._work.find([mark])
                return means is not None and means is not unit

            doubt_taken_marks(judgement, event, record, self._rules, is_taken)
        if other is not None and "mark" not in judgement.doubted:
            doubt_taken_tag(judgement, event, other.record)
        return judgement

    def _judge_claims(
        self, judgement: Judgement, event: Decision, unit: Unit | None, reference: str
    ) -> None:
        """Judge what one unit's record cannot tell: others' orders, others' references."""
        if unit is None:
            return
        depot = unit.record.depot
        if isinstance(event, Reservation | Sale) and self._stock.has_promised(depot):
            short = leaves_orders_short(unit.record, self._stock.promises(depot))
            judgement.add(override(short, event.override_reason))
        if isinstance(event, Release):
            judgement.add(ordering.taken_reference(self._work, event))
            judgement.resolved["reference"] = event.reference or reference
        if isinstance(event, PassingOn):
            judgement.resolved[NEW_REFERENCE] = reference

    def _lock_stock(self, in_hand: Sequence[InHand], units: Collection[UUID]) -> set[str]:
        """Lock the free stock of all depots concerned, before any stream; return which."""
        if not any(isinstance(one.event, _CLAIMS) for one in in_hand):
            return set()  # facts wait for nobody
        placing = {one.event.depot for one in in_hand if isinstance(one.event, Order)}
        selling = {one.event.depot for one in in_hand if isinstance(one.event, _CLAIMS)}
        selling |= {at for at in records.depots_of(self._connection, units).values() if at}
        selling |= {*orders.depots_of(self._connection, units).values()}
        orders.lock_stock(self._connection, placing, selling)
        return placing | selling

    def _is_locked(self, in_hand: Sequence[InHand], locked: set[str]) -> bool:
        """Say whether no unit came to another depot between locking its stock and the unit."""
        if not any(isinstance(one.event, _CLAIMS) for one in in_hand):
            return True
        units = self._work.units.values()
        return {unit.record.depot for unit in units if unit.record.depot} <= locked

    def _name(
        self, unit: Unit, event: Fact | Decision, subjects: list[str], judgement: Judgement
    ) -> None:
        """Let what was adopted mean the unit; a mark that may be another box's does not."""
        if "mark" in judgement.doubted:
            subjects = subjects[1:]
        self._work.name(unit, subjects)
        if isinstance(event, Release | PassingOn):
            self._work.name(unit, [reference_subject(judgement.resolved["reference"])])
        new_mark = other_subject_of(event)
        if new_mark and "new_mark" not in judgement.doubted:
            self._work.name(unit, [new_mark])

    def _write_receipt(
        self, one: InHand, findings: Sequence[Finding], stream: Stream | None, seq: int | None
    ) -> None:
        told: list[dict[str, Any]] = [finding.model_dump(mode="json") for finding in findings]
        self._receipts.append(
            ReceiptRow(
                event_id=one.waiting.event_id,
                digest=one.waiting.digest,
                outcome="refused" if seq is None else "recorded",
                stream_id=stream.stream_id if stream else None,
                seq=seq,
                findings=receipts.findings_text(told),
                received_at=one.waiting.received_at,
                recorded_at=self._work.recorded_at,
            )
        )


def _entry(one: InHand, judgement: Judgement, last: Key) -> Entry:
    """Return the entry of a judged event: a fact when it happened, a decision when it was asked."""
    event, received_at = one.event, one.waiting.received_at
    if isinstance(event, Decision):
        effective_at = moment_after(received_at, event.kind, str(event.id), last)
    else:
        happened = "happened_at" not in judgement.doubted
        effective_at = moment_text(event.happened_at if happened else received_at)
    return Entry(
        event_id=str(event.id),
        kind=event.kind,
        effective_at=effective_at,
        payload=one.payload,
        doubted=judgement.doubted,
        resolved=judgement.resolved,
        findings=[finding.model_dump(mode="json") for finding in judgement.findings],
    )
