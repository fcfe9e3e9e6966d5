"""The histories: rows that are only ever appended, each chained to the one before by digest."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, select

from tracker.store import statements
from tracker.store.tables import HEADS, HISTORY

FIRST: Final = bytes(32)
"""What the first row of a stream is chained to."""

_BEFORE_ALL: Final = UUID(int=0)


@dataclass(slots=True)
class Head:
    """How long a stream is, and the digest that chains all of it."""

    count: int = 0
    digest: bytes = FIRST


class Line(NamedTuple):
    """A row to be appended, as text: moments in UTC with microseconds, as `moment_text` writes."""

    stream_id: str
    seq: int
    event_id: str
    kind: str
    effective_at: str
    recorded_at: str
    body: str
    digest: bytes = b""


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One row as it is read. `body` is the text whose bytes the digest covers."""

    stream_id: UUID
    seq: int
    event_id: UUID
    kind: str
    effective_at: datetime
    recorded_at: datetime
    body: str
    digest: bytes

    def as_line(self) -> Line:
        """Return the row as it was appended."""
        return Line(
            str(self.stream_id),
            self.seq,
            str(self.event_id),
            self.kind,
            _text(self.effective_at),
            _text(self.recorded_at),
            self.body,
            self.digest,
        )


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def chain(before: bytes, line: Line) -> bytes:
    """Return the digest of a line: SHA-256 over the one before it and all that it says."""
    stream_id, seq, event_id, kind, effective_at, recorded_at, body, _ = line
    said = (
        f"{stream_id}\x1f{seq}\x1f{event_id}\x1f{kind}\x1f{effective_at}\x1f{recorded_at}\x1f{body}"
    )
    return hashlib.sha256(before + said.encode()).digest()


def lock_heads(connection: Connection, stream_ids: Collection[UUID]) -> dict[UUID, Head]:
    """Lock the heads of known streams until the transaction ends; new streams have none."""
    found = statements.rows(connection, "lock_heads", stream_ids=sorted(stream_ids))
    return {row.stream_id: Head(row.count, row.digest) for row in found}


def append(connection: Connection, lines: Iterable[Line]) -> None:
    """Append lines; the caller holds the locks of their heads."""
    statements.copy_rows(connection, "history", Line._fields, lines)


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


@dataclass(frozen=True, slots=True)
class Recorded:
    """Which kind an event is, and which depot reported it."""

    kind: str
    depot: str


def find_recorded(connection: Connection, event_ids: Collection[UUID]) -> dict[UUID, Recorded]:
    """Return what is recorded under each event id, wherever it stands now."""
    if not event_ids:
        return {}
    found = statements.rows(connection, "find_recorded", event_ids=list(event_ids))
    return {row.event_id: Recorded(row.kind, row.depot) for row in found}


def read_heads(connection: Connection, after: UUID | None, size: int) -> list[tuple[UUID, Head]]:
    """Return the next `size` heads after a stream, by stream id."""
    found = statements.rows(connection, "read_heads", after=after or _BEFORE_ALL, size=size)
    return [(stream_id, Head(count, digest)) for stream_id, count, digest in found]


def streams_without_head(connection: Connection) -> list[UUID]:
    """Return streams that have rows but no head: somebody removed it."""
    found = connection.execute(
        # Any row will do: whoever removed the head may have removed the first rows with it.
        select(HISTORY.c.stream_id)
        .distinct()
        .outerjoin(HEADS, HEADS.c.stream_id == HISTORY.c.stream_id)
        .where(HEADS.c.stream_id.is_(None))
        .order_by(HISTORY.c.stream_id)
    )
    return list(found.scalars())


def every_head(connection: Connection, size: int = 2000) -> Iterator[tuple[UUID, Head]]:
    """Walk all heads by stream id, `size` at a time."""
    after: UUID | None = None
    while heads := read_heads(connection, after, size):
        yield from heads
        after = heads[-1][0]


class Root:
    """One digest over heads, taken in one after the other by stream id.

    Sent to the manager each day, it shows afterwards whether a whole history was exchanged.
    """

    def __init__(self) -> None:
        self._told = hashlib.sha256()
        self.streams = 0

    def take(self, stream_id: UUID, head: Head) -> None:
        """Take in the next head; a stream without rows says nothing."""
        if head.count:
            self._told.update(stream_id.bytes + head.count.to_bytes(4, "big") + head.digest)
            self.streams += 1

    @property
    def digest(self) -> bytes:
        """The digest over all that was taken in."""
        return self._told.digest()


def root(connection: Connection) -> tuple[bytes, int]:
    """Return the root of all heads, and how many there are."""
    told = Root()
    for stream_id, head in every_head(connection):
        told.take(stream_id, head)
    return told.digest, told.streams
