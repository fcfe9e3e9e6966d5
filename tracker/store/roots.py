"""Roots: one digest over all histories as of an exact moment, with nothing recorded across it.

A drain shares a lock from choosing when it records until its commit (`sql/lock_lane.sql`), and
records after the last root's moment. Whoever fixes a moment holds that lock alone meanwhile: then
every row there is was recorded by it, and every later row is recorded after it.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Connection, func, insert, select, update

from tracker.store.tables import HISTORY, ROOTS

_LOCK: Final = 1886547830
_INSTANT: Final = timedelta(microseconds=1)


def lock_recording(connection: Connection, wait_ms: int) -> None:
    """Keep drains from recording until the transaction ends, once those that do are through.

    Raises the driver's `LockNotAvailable` after `wait_ms`; meanwhile other drains wait behind.
    """
    connection.execute(select(func.set_config("lock_timeout", str(wait_ms), True)))  # noqa: FBT003 - SQL's
    connection.execute(select(func.pg_advisory_xact_lock(_LOCK)))


def moment_after_all(connection: Connection, now: datetime) -> datetime:
    """Return `now`, or the later moment of the last row where another machine's clock ran ahead."""
    ahead = connection.execute(
        select(func.max(HISTORY.c.recorded_at)).where(HISTORY.c.recorded_at > now)
    ).scalar()
    last = find_last(connection)
    return max(moment for moment in (now, ahead, last) if moment is not None)


def begin(connection: Connection, moment: datetime) -> None:
    """Fix a moment; from the commit on nothing is recorded by it."""
    known = connection.execute(select(ROOTS.c.moment).where(ROOTS.c.moment == moment)).first()
    if known is None:
        connection.execute(insert(ROOTS).values(moment=moment))


def finish(connection: Connection, moment: datetime, root: bytes) -> None:
    """Keep the root of a moment."""
    connection.execute(update(ROOTS).where(ROOTS.c.moment == moment).values(root=root))


def find_last(connection: Connection) -> datetime | None:
    """Return the last moment that was fixed."""
    return connection.execute(select(func.max(ROOTS.c.moment))).scalar()


def recording_moment(connection: Connection, now: datetime) -> datetime:
    """Return when a drain records that holds the shared lock: now, but after the last root."""
    last = find_last(connection)
    return now if last is None or last < now else last + _INSTANT


def find_moment(connection: Connection, root: bytes) -> datetime | None:
    """Return the moment that a root was of, the last one; None when it is not known."""
    return connection.execute(select(func.max(ROOTS.c.moment)).where(ROOTS.c.root == root)).scalar()
