"""The histories: rows that are only ever appended, each chained to the one before by digest."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final
from uuid import UUID

from sqlalchemy import Connection, select

from tracker.store import statements
from tracker.store.tables import HEADS, HISTORY

FIRST: Final = bytes(32)
"""What the first row of a stream is chained to."""

_COLUMNS: Final = (
    "stream_id",
    "seq",
    "event_id",
    "kind",
    "effective_at",
    "recorded_at",
    "body",
    "digest",
)


@dataclass(slots=True)
class Head:
    """How long a stream is, and the digest that chains all of it."""

    count: int = 0
    digest: bytes = FIRST


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One row as it is kept. `body` is the text whose bytes the digest covers."""

    stream_id: UUID
    seq: int
    event_id: UUID
    kind: str
    effective_at: datetime
    recorded_at: datetime
    body: str
    digest: bytes = b""


def chain(before: bytes, row: HistoryRow) -> bytes:
    """Return the digest of a row: SHA-256 over the one before it and all that it says."""
    moments = (
        moment.astimezone(UTC).isoformat(timespec="microseconds")
        for moment in (row.effective_at, row.recorded_at)
    )
    said = (str(row.stream_id), str(row.seq), str(row.event_id), row.kind, *moments, row.body)
    told = hashlib.sha256(before)
    told.update("\x1f".join(said).encode())
    return told.digest()


def lock_heads(connection: Connection, stream_ids: Collection[UUID]) -> dict[UUID, Head]:
    """Lock the heads of known streams until the transaction ends; new streams have none."""
    found = statements.rows(connection, "lock_heads", stream_ids=sorted(stream_ids))
    return {row.stream_id: Head(row.count, row.digest) for row in found}


def append(connection: Connection, rows: Iterable[HistoryRow]) -> None:
    """Append rows; the caller holds the locks of their heads."""
    statements.copy_rows(
        connection,
        "history",
        _COLUMNS,
        (
            (
                row.stream_id,
                row.seq,
                row.event_id,
                row.kind,
                row.effective_at,
                row.recorded_at,
                row.body,
                row.digest,
            )
            for row in rows
        ),
    )


def write_heads(connection: Connection, new: dict[UUID, Head], longer: dict[UUID, Head]) -> None:
    """Write the heads of new streams and of those that became longer."""
    statements.copy_rows(
        connection,
        "heads",
        ("stream_id", "count", "digest"),
        ((stream_id, head.count, head.digest) for stream_id, head in new.items()),
    )
    if longer:
        statements.run(
            connection,
            "update_heads",
            stream_ids=list(longer),
            counts=[head.count for head in longer.values()],
            digests=[head.digest for head in longer.values()],
        )


def load(connection: Connection, stream_ids: Collection[UUID]) -> dict[UUID, list[HistoryRow]]:
    """Return the whole history of each stream, in the order it was recorded."""
    loaded: dict[UUID, list[HistoryRow]] = {stream_id: [] for stream_id in stream_ids}
    if not loaded:
        return loaded
    for row in statements.rows(connection, "load_history", stream_ids=list(stream_ids)):
        loaded[row.stream_id].append(HistoryRow(*row))
    return loaded


def read_heads(connection: Connection, after: UUID | None, size: int) -> list[tuple[UUID, Head]]:
    """Return the next `size` heads after a stream, by stream id."""
    query = select(HEADS).order_by(HEADS.c.stream_id).limit(size)
    if after is not None:
        query = query.where(HEADS.c.stream_id > after)
    found = connection.execute(query)
    return [(stream_id, Head(count, digest)) for stream_id, count, digest in found]


def streams_without_head(connection: Connection) -> list[UUID]:
    """Return streams that have rows but no head: somebody removed it."""
    found = connection.execute(
        select(HISTORY.c.stream_id)
        .outerjoin(HEADS, HEADS.c.stream_id == HISTORY.c.stream_id)
        .where(HISTORY.c.seq == 1, HEADS.c.stream_id.is_(None))
        .order_by(HISTORY.c.stream_id)
    )
    return list(found.scalars())


def every_head(connection: Connection, size: int = 2000) -> Iterator[tuple[UUID, Head]]:
    """Walk all heads by stream id, `size` at a time."""
    after: UUID | None = None
    while heads := read_heads(connection, after, size):
        yield from heads
        after = heads[-1][0]


def root(connection: Connection) -> tuple[bytes, int]:
    """Return one digest over all heads, and how many there are.

    Sent to the manager each day, it shows afterwards whether a whole history was exchanged.
    """
    told, count = hashlib.sha256(), 0
    for stream_id, head in every_head(connection):
        told.update(stream_id.bytes + head.count.to_bytes(4, "big") + head.digest)
        count += 1
    return told.digest(), count
