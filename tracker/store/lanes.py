"""Lanes: which one a subject goes to, who works on one, and what killed a worker there."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, and_, delete, func, select, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store import statements
from tracker.store.tables import LANE_ATTEMPTS

_LANE: Final = 1886547828
"""As in `sql/lock_lane.sql`."""

_SWEEP: Final = 1886547831


def lane_of(subject: str, buckets: int, lanes: int) -> int:
    """Return the lane of a subject: its bucket, grouped into `lanes`.

    Lanes only gather work into batches; the exclusion is the lock on the heads of the streams.
    """
    digest = hashlib.blake2b(subject.encode(), digest_size=4).digest()
    return int.from_bytes(digest, "big") % buckets * lanes // buckets


def lane_of_files(lanes: int) -> int:
    """Return the one lane of all long files, beyond the lanes of what is reported by hand."""
    return lanes


def try_lock(connection: Connection, lane: int) -> bool:
    """Try to be the one who works on a lane until the transaction ends.

    A statement of its own: a claim in the same statement would see rows as they were before the
    lock was held.
    """
    return bool(statements.rows(connection, "lock_lane", lane=lane)[0][0])


def lock(connection: Connection, lane: int) -> None:
    """Wait to be the one who works on a lane until the transaction ends."""
    connection.execute(select(func.pg_advisory_xact_lock(_LANE, lane)))


def try_sweep_lock(connection: Connection) -> bool:
    """Try to be the only one of those who ask that sweeps, until the transaction ends."""
    asked = connection.execute(select(func.pg_try_advisory_xact_lock(_SWEEP, 0)))
    return bool(asked.scalar_one())


@dataclass(frozen=True, slots=True)
class Suspicion:
    """What is known of a lane whose worker died: the positions it had claimed, and how often."""

    first_position: int
    last_position: int
    deaths: int


def find_suspicion(connection: Connection, lane: int) -> Suspicion | None:
    """Return the mark left by a worker that did not come back, None where all went well."""
    columns = (
        LANE_ATTEMPTS.c.first_position,
        LANE_ATTEMPTS.c.last_position,
        LANE_ATTEMPTS.c.deaths,
    )
    row = connection.execute(select(*columns).where(LANE_ATTEMPTS.c.lane == lane)).one_or_none()
    return None if row is None else Suspicion(*row)


def suspect(connection: Connection, lane: int, suspicion: Suspicion) -> None:
    """Leave the mark before judging; in a transaction of its own, or it would die along."""
    values = {
        "first_position": suspicion.first_position,
        "last_position": suspicion.last_position,
        "deaths": suspicion.deaths,
    }
    connection.execute(
        insert(LANE_ATTEMPTS)
        .values(lane=lane, **values)
        .on_conflict_do_update(constraint="pk_lane_attempts", set_=values)
    )


def withdraw(connection: Connection, lane: int, left: Suspicion, before: Suspicion | None) -> None:
    """Undo a mark that was left, unless another worker has left its own since."""
    is_mine = and_(
        LANE_ATTEMPTS.c.lane == lane,
        LANE_ATTEMPTS.c.first_position == left.first_position,
        LANE_ATTEMPTS.c.last_position == left.last_position,
        LANE_ATTEMPTS.c.deaths == left.deaths,
    )
    if before is None:
        connection.execute(delete(LANE_ATTEMPTS).where(is_mine))
    else:
        values = {column: getattr(before, column) for column in Suspicion.__slots__}
        connection.execute(update(LANE_ATTEMPTS).where(is_mine).values(values))


def clear_suspicion(connection: Connection, lane: int) -> None:
    """Take the mark away: the batch came through, or failed without killing anybody."""
    connection.execute(delete(LANE_ATTEMPTS).where(LANE_ATTEMPTS.c.lane == lane))
