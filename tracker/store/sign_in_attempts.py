"""How often somebody tried to sign in lately, by keyed digests of names and addresses."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select

from tracker.store.tables import SIGN_IN_ATTEMPTS


def lock(connection: Connection, whos: Collection[bytes]) -> None:
    """Let nobody else count or note attempts of these until the transaction ends.

    Without it a burst of attempts side by side would all be counted before any is noted.
    """
    for key in sorted(int.from_bytes(who[:8], "big", signed=True) for who in whos):
        connection.execute(select(func.pg_advisory_xact_lock(key)))


def recent(connection: Connection, who: bytes, since: datetime) -> list[datetime]:
    """Return the moments of the attempts since a moment, oldest first."""
    found = connection.execute(
        select(SIGN_IN_ATTEMPTS.c.tried_at)
        .where(SIGN_IN_ATTEMPTS.c.who == who, SIGN_IN_ATTEMPTS.c.tried_at > since)
        .order_by(SIGN_IN_ATTEMPTS.c.tried_at)
    )
    return list(found.scalars())


def note(connection: Connection, whos: Collection[bytes], at: datetime) -> list[int]:
    """Note one attempt under each digest; return what the notes are known by."""
    query = insert(SIGN_IN_ATTEMPTS).returning(SIGN_IN_ATTEMPTS.c.id)
    return list(connection.execute(query, [{"who": who, "tried_at": at} for who in whos]).scalars())


def take_back(connection: Connection, notes: Collection[int]) -> None:
    """Take notes back: the attempts were right."""
    connection.execute(delete(SIGN_IN_ATTEMPTS).where(SIGN_IN_ATTEMPTS.c.id.in_(notes)))


def forget(connection: Connection, who: bytes) -> None:
    """Forget all attempts under a digest."""
    connection.execute(delete(SIGN_IN_ATTEMPTS).where(SIGN_IN_ATTEMPTS.c.who == who))


def forget_before(connection: Connection, moment: datetime) -> None:
    """Forget what is too old to count."""
    connection.execute(delete(SIGN_IN_ATTEMPTS).where(SIGN_IN_ATTEMPTS.c.tried_at < moment))
