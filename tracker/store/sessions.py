"""Who is signed in. Only a digest of each session's token is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, delete, insert, or_, select, update

from tracker.store.tables import SESSIONS


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One session. `seen_at` lags by some minutes, so that reading a page writes nothing."""

    digest: bytes
    account_id: UUID
    begun_at: datetime
    seen_at: datetime


def begin(connection: Connection, row: SessionRow) -> None:
    """Begin a session."""
    connection.execute(
        insert(SESSIONS).values(
            digest=row.digest,
            account_id=row.account_id,
            begun_at=row.begun_at,
            seen_at=row.seen_at,
        )
    )


def find(connection: Connection, digest: bytes) -> SessionRow | None:
    """Return the session with this digest, if there is one."""
    row = connection.execute(select(SESSIONS).where(SESSIONS.c.digest == digest)).one_or_none()
    return None if row is None else SessionRow(*row)


def note_seen(connection: Connection, digest: bytes, at: datetime) -> None:
    """Note that a session was used."""
    connection.execute(update(SESSIONS).where(SESSIONS.c.digest == digest).values(seen_at=at))


def end(connection: Connection, digest: bytes) -> None:
    """End one session; nothing happens when it has ended already."""
    connection.execute(delete(SESSIONS).where(SESSIONS.c.digest == digest))


def end_all_of(connection: Connection, account_id: UUID) -> int:
    """End all sessions of an account; return how many there were."""
    found = connection.execute(delete(SESSIONS).where(SESSIONS.c.account_id == account_id))
    return found.rowcount


def end_stale(connection: Connection, *, begun_before: datetime, seen_before: datetime) -> None:
    """End sessions that have lasted too long, or were not used for too long."""
    connection.execute(
        delete(SESSIONS).where(
            or_(SESSIONS.c.begun_at < begun_before, SESSIONS.c.seen_at < seen_before)
        )
    )
