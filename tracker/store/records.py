"""The records: what each history adds up to, with the columns that stock is searched by."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import (
    JSON,
    Column,
    ColumnElement,
    Connection,
    Date,
    DateTime,
    Text,
    Uuid,
    cast,
    func,
    select,
)

from schemas.records import (
    Record,
    bears_marks_to_remove,
    dump_record,
    is_free_unless_reserved,
    load_record,
)
from tracker.store import statements
from tracker.store.tables import RECORDS


class RecordRow(NamedTuple):
    """One row of `records`, all but `body` taken from the record in it; ids and dates as text."""

    unit_id: str
    mark: str | None
    mark_state: str
    tag: str | None
    presence: str
    depot: str | None
    slot: str | None
    size_type: str | None
    condition: str | None
    colour: str | None
    provenance: str | None
    free: bool
    stands: str
    questions: int
    breaches: int
    examination_on: str | None
    mend_by: str | None
    work_due_on: str | None
    reserved_until: str | None
    merged_into: str | None
    manufactured_on: str | None
    arrived_at: str | None
    fittings: str
    owes_on: str | None
    has_work: bool
    body: str


def row_of(record: Record, owes_on: date | None) -> RecordRow:
    """Return the row that keeps `record`, which may be told of from `owes_on` on."""
    return RecordRow(
        record.unit_id,
        record.mark,
        record.mark_state,
        record.tag,
        record.presence,
        record.depot,
        record.slot,
        record.size_type,
        record.condition,
        record.colour,
        record.provenance,
        is_free_unless_reserved(record),
        stands(record),
        len(record.questions),
        len(record.breaches),
        _first_day(record.next_examination),
        _earliest([damage.mend_by for damage in record.damages]) if record.damages else None,
        _earliest([order.due_on for order in record.orders]) if record.orders else None,
        record.reservation.until if record.reservation is not None else None,
        record.merged_into,
        _first_day(record.manufactured_in),
        record.arrived_at,
        list_fittings(record),
        None if owes_on is None else owes_on.isoformat(),
        has_work(record),
        dump_record(record).decode(),
    )


def stands(record: Record) -> str:
    """Say how far the unit's sale has come: free, reserved, sold or released."""
    if record.release is not None:
        return "released"
    if record.sale is not None:
        return "sold"
    return "reserved" if record.reservation is not None else "free"


def has_work(record: Record) -> bool:
    """Say whether the workshop has to do with a unit that is here."""
    waits = record.orders or record.damages or record.repaint or record.to_weigh or record.placards
    asked = bool(waits) or bears_marks_to_remove(record)
    return asked and record.presence == "in-depot" and record.merged_into is None


def list_fittings(record: Record) -> str:
    """Return the names of what is fitted with a space around each, so that each can be found."""
    names = sorted(name for name, pieces in record.fittings.items() if pieces)
    return f" {' '.join(names)} " if names else ""


def load(connection: Connection, unit_ids: Collection[UUID]) -> dict[UUID, Record]:
    """Return the records of units that have one."""
    return {
        unit_id: load_record(body) for unit_id, body in load_bodies(connection, unit_ids).items()
    }


def load_bodies(connection: Connection, unit_ids: Collection[UUID]) -> dict[UUID, str]:
    """Return the records of units that have one, as they are written down."""
    if not unit_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT unit_id, body::text FROM records WHERE unit_id = ANY(%s::uuid[])",
        (list(unit_ids),),
    )
    return {row.unit_id: row.body for row in found}


def load_rows(connection: Connection, unit_ids: Collection[UUID]) -> dict[UUID, RecordRow]:
    """Return the whole rows of units that have one."""
    columns = [_as_written(RECORDS.c[name]) for name in RecordRow._fields]
    found = connection.execute(select(*columns).where(RECORDS.c.unit_id.in_(unit_ids)))
    return {UUID(row[0]): RecordRow(*row) for row in found}


def _as_written(column: Column[Any]) -> ColumnElement[Any]:
    """Return a column as `RecordRow` has it: ids, days and moments as text."""
    if isinstance(column.type, DateTime):
        moment = func.timezone("UTC", column)
        return func.to_char(moment, 'YYYY-MM-DD"T"HH24:MI:SS.US"+00:00"')
    if isinstance(column.type, Uuid | Date | JSON):
        return cast(column, Text)
    return column


def list_without_head(connection: Connection) -> list[UUID]:
    """Return the units that have a record and no history: nobody reported them."""
    found = connection.exec_driver_sql(
        "SELECT unit_id FROM records WHERE NOT EXISTS"
        " (SELECT FROM heads WHERE stream_id = unit_id) ORDER BY unit_id"
    )
    return list(found.scalars())


def remove(connection: Connection, unit_ids: Collection[UUID]) -> None:
    """Remove records that no history stands behind."""
    connection.exec_driver_sql(
        "DELETE FROM records WHERE unit_id = ANY(%s::uuid[])", (list(unit_ids),)
    )


def depots_of(connection: Connection, unit_ids: Collection[UUID]) -> dict[UUID, str | None]:
    """Return the depot that each unit stands at, is expected at, or left last."""
    if not unit_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT unit_id, depot FROM records WHERE unit_id = ANY(%s::uuid[])", (list(unit_ids),)
    )
    return {row.unit_id: row.depot for row in found}


def write(
    connection: Connection, new: Collection[RecordRow], changed: Collection[RecordRow]
) -> None:
    """Write records: new ones by COPY, known ones by one UPDATE."""
    statements.copy_rows(connection, "records", RecordRow._fields, new)
    if changed:
        columns = zip(*changed, strict=True)
        values = dict(zip(RecordRow._fields, map(list, columns), strict=True))
        statements.run(connection, "update_records", **values)


def _first_day(month: str | None) -> str | None:
    """Return the first day of the month; both are written so that text says it."""
    if month is None or month == "programme":
        return None
    return f"{month}-01"


def _earliest(days: Iterable[str | None]) -> str | None:
    return min((day for day in days if day), default=None)
