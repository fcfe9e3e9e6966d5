"""One stream of a batch: its head, and the lines that the batch adds to its chain."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

import orjson

from schemas.findings import Finding
from tracker.judge.entry import Entry, moment_text
from tracker.judge.judgement import RULES_VERSION
from tracker.store import history
from tracker.store.history import Head, HistoryRow, Line


def body_of(entry: Entry, told: Iterable[Finding]) -> str:
    """Write the body of a history row: what was said, what was made of it, what was told then."""
    body: dict[str, Any] = {"event": entry.payload, "rules": RULES_VERSION}
    if entry.doubted:
        body["doubted"] = entry.doubted
    if entry.resolved:
        body["resolved"] = entry.resolved
    if entry.findings:
        body["findings"] = entry.findings
    if then := [finding.model_dump(mode="json") for finding in told]:
        body["told"] = then
    return orjson.dumps(body).decode()


def entry_of(row: HistoryRow) -> Entry:
    """Read a history row as the fold reads it."""
    body = orjson.loads(row.body)
    return Entry(
        event_id=str(row.event_id),
        kind=row.kind,
        effective_at=moment_text(row.effective_at),
        payload=body["event"],
        doubted=body.get("doubted", []),
        resolved=body.get("resolved", {}),
        findings=body.get("findings", []),
    )


@dataclass(slots=True)
class Stream:
    """A stream that the batch may lengthen. The transaction holds the lock of its head."""

    stream_id: UUID
    head: Head
    is_new: bool = False
    earlier: list[Entry] | None = None
    """Its history before this batch; loaded only when something must be folded anew."""
    added: list[Entry] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)

    def append(self, entry: Entry, told: Iterable[Finding], recorded_at: str) -> int:
        """Add an entry's line to the chain; return its number in the stream."""
        seq = self.head.count + 1
        line = Line(
            str(self.stream_id),
            seq,
            entry.event_id,
            entry.kind,
            entry.effective_at,
            recorded_at,
            body_of(entry, told),
        )
        digest = history.chain(self.head.digest, line)
        self.head = Head(seq, digest)
        self.lines.append(line._replace(digest=digest))
        self.added.append(entry)
        return seq
