"""Fix an exact moment and reckon the root of all histories as of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import structlog
from psycopg import errors as postgres
from sqlalchemy import Connection
from sqlalchemy.exc import OperationalError

from tracker.services.context import Context
from tracker.store import history, roots

log = structlog.get_logger()

_WAIT_MS: Final = 1000
_TRIES: Final = 60


@dataclass(frozen=True, slots=True)
class FixedRoot:
    """The root of all histories as of a moment; whoever has both can have it reckoned again."""

    moment: datetime
    root: bytes
    streams: int


def fix_root(context: Context) -> FixedRoot:
    """Fix a moment by which all is recorded that ever will be, and return the root as of it.

    Drains wait for as long as those take that are at work; reckoning keeps nobody waiting. Called
    twice with nothing recorded between, and at one moment, it gives the same.
    """
    with context.engine.connect().execution_options(isolation_level="REPEATABLE READ") as snapshot:
        moment = _fix_patiently(context, snapshot)
        digest, streams = history.root(snapshot)
        snapshot.rollback()
    with context.engine.begin() as connection:
        roots.finish(connection, moment, digest)
    return FixedRoot(moment, digest, streams)


def _fix_patiently(context: Context, snapshot: Connection) -> datetime:
    """Try in turns, so that no drain waits long behind one that works long."""
    for attempt in range(1, _TRIES + 1):
        try:
            return _fix(context, snapshot)
        except OperationalError as fault:
            if not isinstance(fault.orig, postgres.LockNotAvailable) or attempt == _TRIES:
                raise
            log.info("root.waited", attempt=attempt)
    raise AssertionError("the last attempt returns or raises")


def _fix(context: Context, snapshot: Connection) -> datetime:
    with context.engine.begin() as alone:
        roots.lock_recording(alone, _WAIT_MS)
        # The first statement of the snapshot comes after the lock is held, or it would miss what
        # was committed while we waited for it.
        moment = roots.moment_after_all(snapshot, context.clock.now())
        roots.begin(alone, moment)
    return moment
