"""Verify that no history was changed, cut off or added to behind its back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from uuid import UUID

from tracker.services.context import Context
from tracker.store import history, roots
from tracker.store.engine import one_moment
from tracker.store.history import FIRST, Head, HistoryRow, Root, chain

_STREAMS_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Flaw:
    """One thing wrong with a history: which stream, which row, and what."""

    stream_id: UUID
    seq: int
    event_id: UUID | None
    says: str


@dataclass(frozen=True, slots=True)
class Verification:
    """What verifying found; sound when there are no flaws and the root is the one expected."""

    streams: int
    rows: int
    root: str
    flaws: tuple[Flaw, ...]
    root_at: str | None = None
    """The root as of the moment that was asked for."""


def verify(context: Context, *, at: datetime | None = None) -> Verification:
    """Walk every history and compare it with its chain and its head, in one moment's view.

    With `at`, also reckon the root as of that moment, from the histories and nothing else: it is
    the one that a round told of then, unless something was changed since.
    """
    flaws: list[Flaw] = []
    root_at = Root()
    rows = streams = 0
    with one_moment(context.engine) as connection:
        for some in _in_lots(history.every_head(connection), _STREAMS_AT_ONCE):
            loaded = history.load(connection, [stream_id for stream_id, _ in some])
            for stream_id, head in some:
                streams += 1
                rows += len(loaded[stream_id])
                flaws += flaws_in(stream_id, head, loaded[stream_id])
                if at is not None:
                    root_at.take(stream_id, head_at(loaded[stream_id], at))
        flaws += [
            Flaw(stream_id, 0, None, "its head is gone")
            for stream_id in history.streams_without_head(connection)
        ]
        digest, _ = history.root(connection)
    told = None if at is None else root_at.digest.hex()
    return Verification(streams, rows, digest.hex(), tuple(flaws), told)


def moment_of(context: Context, root: str) -> datetime | None:
    """Return the moment that a root was told of, where that is still known."""
    try:
        digest = bytes.fromhex(root)
    except ValueError:
        return None
    with context.engine.begin() as connection:
        return roots.find_moment(connection, digest)


def head_at(rows: Iterable[HistoryRow], at: datetime) -> Head:
    """Return the head that a stream had at a moment, its digest reckoned from what its rows say."""
    head = Head()
    for row in rows:
        if row.recorded_at > at:
            break
        head = Head(row.seq, chain(head.digest, row.as_line()))
    return head


def flaws_in(stream_id: UUID, head: Head, rows: Iterable[HistoryRow]) -> list[Flaw]:
    """Return what is wrong with one stream's rows, given in their order."""
    flaws, before, last = [], FIRST, 0
    for row in rows:
        if row.seq != last + 1:
            flaws.append(Flaw(stream_id, row.seq, row.event_id, f"row {last + 1} is missing"))
        elif chain(before, row.as_line()) != row.digest:
            flaws.append(Flaw(stream_id, row.seq, row.event_id, "its content was changed"))
        before, last = row.digest, row.seq
    if last != head.count:
        says = f"it ends at row {last}, its head says {head.count}"
        flaws.append(Flaw(stream_id, last, None, says))
    elif before != head.digest:
        flaws.append(Flaw(stream_id, last, None, "its last row is not the one its head names"))
    return flaws


def _in_lots(heads: Iterator[tuple[UUID, Head]], size: int) -> Iterator[list[tuple[UUID, Head]]]:
    while lot := list(islice(heads, size)):
        yield lot
