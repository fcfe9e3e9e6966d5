"""The records: what each history adds up to, with the columns that stock is searched by."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Final
from uuid import UUID

from sqlalchemy import Connection

from schemas.records import Record, dump_record, load_record
from shared.months import Month
from tracker.store import statements


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One row of `records`; all but `body` is taken from the record in it."""

    unit_id: UUID
    mark: str | None
    mark_state: str
    tag: str | None
    presence: str
    depot: str | None
    slot: str | None
    size_type: str | None
    condition: str | None
    stands: str
    questions: int
    breaches: int
    examination_on: date | None
    mend_by: date | None
    work_due_on: date | None
    reserved_until: datetime | None
    merged_into: UUID | None
    body: str


COLUMNS: Final = tuple(column.name for column in fields(RecordRow))


def row_of(record: Record) -> RecordRow:
    """Return the row that keeps `record`."""
    return RecordRow(
        unit_id=UUID(record.unit_id),
        mark=record.mark,
        mark_state=record.mark_state,
        tag=record.tag,
        presence=record.presence,
        depot=record.depot,
        slot=record.slot,
        size_type=record.size_type,
        condition=record.condition,
        stands=stands(record),
        questions=len(record.questions),
        breaches=len(record.breaches),
        examination_on=_first_day(record.next_examination),
        mend_by=_earliest(damage.mend_by for damage in record.damages),
        work_due_on=_earliest(order.due_on for order in record.orders),
        reserved_until=_until(record),
        merged_into=UUID(record.merged_into) if record.merged_into else None,
        body=dump_record(record).decode(),
    )


def stands(record: Record) -> str:
    """Say how far the unit's sale has come: free, reserved, sold or released."""
    if record.release is not None:
        return "released"
    if record.sale is not None:
        return "sold"
    return "reserved" if record.reservation is not None else "free"


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


def write(connection: Connection, new: Collection[Record], changed: Collection[Record]) -> None:
    """Write records: new ones by COPY, known ones by one UPDATE."""
    rows = map(row_of, new)
    statements.copy_rows(
        connection,
        "records",
        COLUMNS,
        ([getattr(row, column) for column in COLUMNS] for row in rows),
    )
    if changed:
        updates = [row_of(record) for record in changed]
        columns = {column: [getattr(row, column) for row in updates] for column in COLUMNS}
        statements.run(connection, "update_records", **columns)


def _until(record: Record) -> datetime | None:
    kept = record.reservation
    return None if kept is None else datetime.fromisoformat(kept.until)


def _first_day(next_examination: str | None) -> date | None:
    if next_examination is None or next_examination == "programme":
        return None
    return Month.parse(next_examination).first_day()


def _earliest(days: Iterable[str | None]) -> date | None:
    return min((date.fromisoformat(day) for day in days if day), default=None)
