"""How holds and their clearing change a record."""

from __future__ import annotations

from schemas.records import LiveHold, Record
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes


def fold_hold(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """A person stops something about the unit."""
    record.holds.append(
        LiveHold(entry.event_id, payload["hold"], payload["reason"], entry.effective_at)
    )


def fold_hold_cleared(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The hold named is lifted."""
    record.holds = [kept for kept in record.holds if kept.id != payload["clears"]]
