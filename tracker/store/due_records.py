"""The records that owe something soon, found by the columns that say so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from uuid import UUID

from sqlalchemy import Connection

from schemas.records import Record, load_record
from tracker.store import statements


def owing(connection: Connection, depot: str, until: date, size: int) -> Iterator[list[Record]]:
    """Give the records of a depot with something due before `until`, `size` at a time.

    Memory stays flat however many there are: each lot begins after the last unit of the one before.
    """
    after = UUID(int=0)
    while True:
        rows = statements.rows(
            connection, "owing_records", depot=depot, until=until, after=after, size=size
        )
        if not rows:
            return
        yield [load_record(row.body) for row in rows]
        after = rows[-1].unit_id


def depots_with_stock(connection: Connection) -> list[str]:
    """Return the depots that have or expect units."""
    return [row.depot for row in statements.rows(connection, "depots_with_stock")]
