"""The records that owe something soon, found by the column that says so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Connection, select

from tracker.store import statements
from tracker.store.tables import RECORDS


def owing(
    connection: Connection, depot: str, until: date, size: int
) -> Iterator[list[tuple[UUID, str]]]:
    """Give unit and record, as it is written down, of what may be told by `until` at a depot.

    Memory stays flat however many there are: each lot begins after the last unit of the one before.
    """
    owes_on, unit_id = date.min, UUID(int=0)
    while True:
        rows = statements.rows(
            connection,
            "owing_records",
            depot=depot,
            until=until,
            owes_on=owes_on,
            unit_id=unit_id,
            size=size,
        )
        if not rows:
            return
        yield [(row.unit_id, row.body) for row in rows]
        owes_on, unit_id = rows[-1].owes_on, rows[-1].unit_id


def reserved_until(connection: Connection, now: datetime, size: int) -> list[UUID]:
    """Return up to `size` units whose reservation has ended by `now`, the longest ago first."""
    found = connection.execute(
        select(RECORDS.c.unit_id)
        .where(RECORDS.c.reserved_until <= now)
        .order_by(RECORDS.c.reserved_until, RECORDS.c.unit_id)
        .limit(size)
    )
    return list(found.scalars())


def depots_with_stock(connection: Connection) -> list[str]:
    """Return the depots that have or expect units."""
    return [row.depot for row in statements.rows(connection, "depots_with_stock")]
