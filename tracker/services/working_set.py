"""The units of one batch in memory: loaded once, folded on, written once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from sqlalchemy import Connection

from schemas.findings import Finding
from schemas.records import Question, Record
from tracker.judge import fold
from tracker.judge.entry import Entry, moment_text
from tracker.judge.judgement import RULES_VERSION
from tracker.store import history, marks, records
from tracker.store.history import Head, HistoryRow


def body_of(entry: Entry, told: Iterable[Finding]) -> str:
    """Write the body of a history row: what was said, what was made of it, what was told then."""
    body: dict[str, Any] = {"event": entry.payload, "rules": RULES_VERSION}
    if entry.doubted:
        body["doubted"] = entry.doubted
    if entry.resolved:
        body["resolved"] = entry.resolved
    if entry.findings:
        body["findings"] = entry.findings
    if then := [finding.model_dump(mode="json") for finding in told]:
        body["told"] = then
    return orjson.dumps(body).decode()


def entry_of(row: HistoryRow) -> Entry:
    """Read a history row as the fold reads it."""
    body = orjson.loads(row.body)
    return Entry(
        event_id=str(row.event_id),
        kind=row.kind,
        effective_at=moment_text(row.effective_at),
        payload=body["event"],
        doubted=body.get("doubted", []),
        resolved=body.get("resolved", {}),
        findings=body.get("findings", []),
    )


@dataclass(slots=True)
class Unit:
    """One unit of the batch: its record, its head, what the batch adds to both."""

    unit_id: UUID
    record: Record
    head: Head
    is_new: bool = False
    earlier: list[Entry] | None = None
    """Its history before this batch; loaded only when something must be folded anew."""
    added: list[Entry] = field(default_factory=list)
    rows: list[HistoryRow] = field(default_factory=list)
    asked_before: dict[str, Question] = field(default_factory=dict)
    breaches_before: int = 0

    def append(self, entry: Entry, told: Iterable[Finding], recorded_at: datetime) -> int:
        """Add an entry's row to the chain; return its number in the stream."""
        seq = self.head.count + 1
        draft = HistoryRow(
            self.unit_id,
            seq,
            UUID(entry.event_id),
            entry.kind,
            datetime.fromisoformat(entry.effective_at),
            recorded_at,
            body_of(entry, told),
        )
        digest = history.chain(self.head.digest, draft)
        row = HistoryRow(
            draft.stream_id,
            seq,
            draft.event_id,
            draft.kind,
            draft.effective_at,
            recorded_at,
            draft.body,
            digest,
        )
        self.head = Head(seq, digest)
        self.rows.append(row)
        return seq


class WorkingSet:
    """The units, marks and questions of one batch. Reads as needed; writes only in `flush`.

    Not shared between threads. The connection's transaction holds the locks of all known units.
    """

    def __init__(self, connection: Connection, recorded_at: datetime) -> None:
        self.connection = connection
        self.recorded_at = recorded_at
        self.units: dict[UUID, Unit] = {}
        self.meaning: dict[str, UUID] = {}
        self.new_meaning: dict[str, UUID] = {}
        self.stream_of_event: dict[str, UUID] = {}
        """Where events stand that a correction may name: those moved or recorded in this batch,
        and those looked up for it."""

    def load(self, meaning: dict[str, UUID], unit_ids: Iterable[UUID]) -> None:
        """Lock and load units, with the marks that lead to them."""
        wanted = {*unit_ids}
        heads = history.lock_heads(self.connection, wanted)
        loaded = records.load(self.connection, wanted)
        self.meaning = dict(meaning)
        self.units = {}
        for unit_id in wanted:
            record = loaded[unit_id]
            self.units[unit_id] = Unit(
                unit_id,
                record,
                heads[unit_id],
                asked_before={question.id: question for question in record.questions},
                breaches_before=len(record.breaches),
            )

    def find(self, subjects: Iterable[str]) -> Unit | None:
        """Return the unit that the first meaningful subject leads to."""
        for subject in subjects:
            if (unit_id := self.meaning.get(subject)) is not None:
                return self.units.get(unit_id)
        return None

    def find_by_question(self, question_id: str) -> Unit | None:
        """Return the unit on whose record a question stands."""
        for unit in self.units.values():
            if any(question.id == question_id for question in unit.record.questions):
                return unit
        return None

    def find_by_event(self, event_id: UUID) -> Unit | None:
        """Return the unit in whose history an event stands."""
        stream = self.stream_of_event.get(str(event_id))
        return None if stream is None else self.units.get(stream)

    def open(self, unit_id: UUID) -> Unit:
        """Open a unit that nobody has reported before."""
        unit = Unit(unit_id, Record(str(unit_id)), Head(), is_new=True, earlier=[])
        self.units[unit_id] = unit
        return unit

    def name(self, unit: Unit, subjects: Iterable[str]) -> None:
        """Let subjects that mean nothing yet mean this unit."""
        for subject in subjects:
            if subject not in self.meaning:
                self.meaning[subject] = self.new_meaning[subject] = unit.unit_id

    def history_of(self, unit: Unit) -> list[Entry]:
        """Return the unit's history with what this batch added."""
        if unit.earlier is None:
            rows = history.load(self.connection, [unit.unit_id])[unit.unit_id]
            unit.earlier = [entry_of(row) for row in rows]
        return unit.earlier + unit.added

    def record_entry(self, unit: Unit, entry: Entry) -> tuple[list[Finding], int]:
        """Fold an entry into the unit and append its row; return what folding told, and its seq."""
        if fold.may_extend(unit.record, entry):
            told = fold.extend(unit.record, entry)
        else:
            whole = [*self.history_of(unit), entry]
            unit.record, told = fold.fold_telling(str(unit.unit_id), whole, entry.event_id)
        unit.added.append(entry)
        self.stream_of_event[entry.event_id] = unit.unit_id
        return told, unit.append(entry, told, self.recorded_at)

    def point(self, unit: Unit, subject: str) -> None:
        """Let a subject mean this unit from now on, whatever it meant before."""
        marks.point(self.connection, subject, unit.unit_id)
        self.meaning[subject] = unit.unit_id

    def merge(self, here: Unit, there: Unit) -> None:
        """Let all that means one unit mean the other."""
        marks.claim(self.connection, self.new_meaning)
        self.new_meaning = {}
        marks.point_all(self.connection, here.unit_id, there.unit_id)
        for subject, unit_id in self.meaning.items():
            if unit_id == here.unit_id:
                self.meaning[subject] = there.unit_id
