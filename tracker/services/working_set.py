"""The units of one batch in memory: loaded once, folded on, written once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection

from schemas.findings import Finding
from schemas.orders import OrderRecord
from schemas.records import Question, Record, is_free_unless_reserved
from tracker.judge import fold
from tracker.judge.descriptions import Kind, kind_of
from tracker.judge.entry import Entry, moment_text
from tracker.judge.order_fold import fold_order
from tracker.services.stream import Stream, entry_of
from tracker.store import history, marks, orders, records
from tracker.store.history import Head


class InStock(NamedTuple):
    """Where a unit stands free, as what, and until when a reservation keeps it."""

    depot: str
    kind: Kind
    reserved_until: str | None


@dataclass(slots=True)
class Unit(Stream):
    """One unit of the batch: its stream and its record, with what stood in it before."""

    record: Record = field(kw_only=True)
    asked_before: dict[str, Question] = field(default_factory=dict)
    depot_before: str | None = None
    breaches_before: frozenset[tuple[str, str]] = frozenset()
    """Event and finding of each breach known before this batch."""
    stock_before: InStock | None = None
    """Where and as what it stood in the free stock before this batch."""

    def depots_of_stock_changed(self) -> set[str]:
        """Return the depots whose free stock is another by what happened to the unit."""
        now, before = stock_of(self.record), self.stock_before
        return set() if now == before else {kept.depot for kept in (now, before) if kept}

    @property
    def unit_id(self) -> UUID:
        """The unit's own id, which is its stream's."""
        return self.stream_id


def stock_of(record: Record) -> InStock | None:
    """Return where and as what a unit stands in the free stock; None where it does not."""
    if record.depot is None or not is_free_unless_reserved(record):
        return None
    kept = record.reservation
    return InStock(record.depot, kind_of(record), None if kept is None else kept.until)


@dataclass(slots=True)
class OrderStream(Stream):
    """One order of the batch: its stream, and what it has come to."""

    order: OrderRecord = field(kw_only=True)


class WorkingSet:
    """The units, marks and questions of one batch. Reads as needed; writes only in `flush`.

    Not shared between threads. The connection's transaction holds the locks of all known units.
    """

    def __init__(self, connection: Connection, recorded_at: datetime) -> None:
        self.connection = connection
        self.recorded_at = recorded_at
        self._recorded_text = moment_text(recorded_at)
        self.units: dict[UUID, Unit] = {}
        self.orders: dict[UUID, OrderStream] = {}
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
        self.orders = {
            order_id: OrderStream(order_id, heads[order_id], order=order)
            for order_id, order in orders.load(
                self.connection, [known for known in heads if known not in loaded]
            ).items()
        }
        for unit_id, record in loaded.items():
            self.units[unit_id] = Unit(
                unit_id,
                heads[unit_id],
                record=record,
                asked_before={question.id: question for question in record.questions},
                depot_before=record.depot,
                stock_before=stock_of(record),
                breaches_before=frozenset(
                    (breach.event, breach.finding) for breach in record.breaches
                ),
            )

    def find(self, subjects: Iterable[str]) -> Unit | None:
        """Return the unit that the first meaningful subject leads to."""
        for subject in subjects:
            if (unit_id := self.meaning.get(subject)) is not None:
                return self.units.get(unit_id)
        return None

    def find_both(self, subjects: Sequence[str]) -> tuple[Unit | None, Unit | None]:
        """Return the unit that a report is about, and the other one when mark and tag disagree.

        The mark says which, unless the tag's unit has none of its own yet: then it may be this one.
        """
        found = [unit for subject in subjects if (unit := self.find([subject])) is not None]
        if len(found) < 2 or found[0] is found[1]:
            return (found[0] if found else None), None
        by_mark, by_tag = found
        return (by_tag, by_mark) if by_tag.record.mark is None else (by_mark, by_tag)

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
        unit = Unit(unit_id, Head(), is_new=True, earlier=[], record=Record(str(unit_id)))
        self.units[unit_id] = unit
        return unit

    def find_order(self, order_id: UUID | None) -> OrderStream | None:
        """Return an order by its id."""
        return None if order_id is None else self.orders.get(order_id)

    def find_order_of_event(self, event_id: UUID) -> OrderStream | None:
        """Return the order in whose history an event stands."""
        return self.find_order(self.stream_of_event.get(str(event_id)))

    def orders_of_sales(self, event_ids: Collection[UUID]) -> set[UUID]:
        """Return the orders on which units were sold by any of the events."""
        asked = set(map(str, event_ids))
        sales = (unit.record.sale for unit in self.units.values())
        return {UUID(sale.order) for sale in sales if sale and sale.order and sale.id in asked}

    def find_order_by_reference(self, subject: str | None) -> OrderStream | None:
        """Return the order that a collection reference was given on."""
        return None if subject is None else self.find_order(self.meaning.get(subject))

    def open_order(self, order_id: UUID) -> OrderStream:
        """Open the stream of a new order."""
        stream = OrderStream(
            order_id, Head(), is_new=True, earlier=[], order=OrderRecord(str(order_id))
        )
        self.orders[order_id] = stream
        return stream

    def record_on_order(self, stream: OrderStream, entry: Entry) -> int:
        """Fold an entry into an order and append its row; return its number in the stream."""
        whole = [*self.history_of(stream), entry]
        stream.order = fold_order(str(stream.stream_id), whole)
        # What stands in a unit's history, too, is the unit's, as its receipt says.
        self.stream_of_event.setdefault(entry.event_id, stream.stream_id)
        return stream.append(entry, (), self._recorded_text)

    def name(self, unit: Stream, subjects: Iterable[str]) -> None:
        """Let subjects that mean nothing yet mean this unit."""
        for subject in subjects:
            if subject not in self.meaning:
                self.meaning[subject] = self.new_meaning[subject] = unit.stream_id

    def fetch_histories(self, unit_ids: Collection[UUID]) -> None:
        """Load the histories of known units that will be asked for, in one statement."""
        for unit_id, rows in history.load(self.connection, unit_ids).items():
            self.units[unit_id].earlier = [entry_of(row) for row in rows]

    def history_of(self, unit: Stream) -> list[Entry]:
        """Return a stream's history with what this batch added."""
        if unit.earlier is None:
            rows = history.load(self.connection, [unit.stream_id])[unit.stream_id]
            unit.earlier = [entry_of(row) for row in rows]
        return unit.earlier + unit.added

    def record_entry(self, unit: Unit, entry: Entry) -> tuple[list[Finding], int]:
        """Fold an entry into the unit and append its row; return what folding told, and its seq."""
        if fold.may_extend(unit.record, entry):
            told = fold.extend(unit.record, entry)
        else:
            whole = [*self.history_of(unit), entry]
            unit.record, told = fold.fold_telling(str(unit.unit_id), whole, entry.event_id)
        # What settles stands in two histories; it is the first one's, as its receipt says.
        self.stream_of_event.setdefault(entry.event_id, unit.unit_id)
        return told, unit.append(entry, told, self._recorded_text)

    def point(self, unit: Unit, subject: str) -> None:
        """Let a subject mean this unit from now on, whatever it meant before."""
        marks.point(self.connection, subject, unit.unit_id)
        self.meaning[subject] = unit.unit_id
        self.new_meaning.pop(subject, None)

    def merge(self, here: Unit, there: Unit) -> None:
        """Let all that means one unit mean the other."""
        marks.claim(self.connection, self.new_meaning)
        self.new_meaning = {}
        marks.point_all(self.connection, here.unit_id, there.unit_id)
        for subject, unit_id in self.meaning.items():
            if unit_id == here.unit_id:
                self.meaning[subject] = there.unit_id
