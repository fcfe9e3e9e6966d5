"""Who is on duty at a depot: told at once of what cannot wait, by mail to their address."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, select, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store.tables import DUTIES

EVERY_DEPOT = "*"


def begin(
    connection: Connection, depot: str, address: str, name: str | None, by: str, now: datetime
) -> None:
    """Put an address on duty at a depot (`*` for all); on duty already, it stays so since then."""
    connection.execute(
        insert(DUTIES)
        .values(depot=depot, address=address, name=name, set_by=by, since=now)
        .on_conflict_do_nothing(constraint="pk_duties")
    )


def end(connection: Connection, depot: str, address: str) -> bool:
    """Take an address off duty; return whether it was on."""
    found = connection.execute(
        delete(DUTIES).where(DUTIES.c.depot == depot, DUTIES.c.address == address)
    )
    return found.rowcount > 0


def list_all(connection: Connection) -> list[dict[str, Any]]:
    """Return who is on duty, by depot, whoever has been so longest first."""
    query = select(DUTIES).order_by(DUTIES.c.depot, DUTIES.c.since, DUTIES.c.address)
    return [dict(row) for row in connection.execute(query).mappings()]


def addresses(connection: Connection, depot: str) -> list[str]:
    """Return the addresses on duty at a depot, those of every depot included."""
    found = connection.execute(
        select(DUTIES.c.address)
        .where(DUTIES.c.depot.in_((depot, EVERY_DEPOT)))
        .distinct()
        .order_by(DUTIES.c.address)
    )
    return list(found.scalars())


def forget(connection: Connection, value: str, instead: str) -> bool:
    """Take an address off every duty, and write `instead` for a name; say whether any stood."""
    gone = connection.execute(delete(DUTIES).where(DUTIES.c.address == value)).rowcount
    for column in (DUTIES.c.name, DUTIES.c.set_by):
        done = connection.execute(update(DUTIES).where(column == value).values({column: instead}))
        gone += done.rowcount
    return gone > 0
