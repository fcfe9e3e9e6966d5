"""Which depot's round was made on which day, and the root of all histories then."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Connection, select, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store.tables import ROUNDS


def begin(connection: Connection, depot: str, day: date) -> bool:
    """Claim a depot's round of a day; False when it was made, or is being made elsewhere."""
    found = connection.execute(
        insert(ROUNDS)
        .values(depot=depot, day=day, root=b"")
        .on_conflict_do_nothing(constraint="pk_rounds")
        .returning(ROUNDS.c.day)
    )
    return found.first() is not None


def is_made(connection: Connection, depot: str, day: date) -> bool:
    """Say whether a depot's round of a day was made."""
    query = select(ROUNDS.c.day).where(ROUNDS.c.depot == depot, ROUNDS.c.day == day)
    return connection.execute(query).first() is not None


def note_root(connection: Connection, depot: str, day: date, root: bytes, moment: datetime) -> None:
    """Keep the root of all histories, and the moment it is of, with the round."""
    connection.execute(
        update(ROUNDS)
        .where(ROUNDS.c.depot == depot, ROUNDS.c.day == day)
        .values(root=root, moment=moment)
    )


def last_day(connection: Connection, depot: str) -> date | None:
    """Return the day of a depot's last round."""
    query = select(ROUNDS.c.day).where(ROUNDS.c.depot == depot).order_by(ROUNDS.c.day.desc())
    return connection.execute(query.limit(1)).scalar()
