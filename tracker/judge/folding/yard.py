"""How sightings, moves within the depot and disposals change a record."""

from __future__ import annotations

from schemas.records import Record
from tracker.judge import presence
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes


def be_seen(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Take the unit as standing in the depot that reports it; ask where the record differs."""
    record.last_seen_at = entry.effective_at
    if record.presence == "in-depot" and record.depot == payload["depot"]:
        return
    finding = presence.SEEN_NOT_IN.finding(
        "happened_at", seen=where(record), depot=payload["depot"]
    )
    notes.ask(record, entry, finding)
    record.presence, record.depot, record.whereabouts = "in-depot", payload["depot"], None


def where(record: Record) -> str:
    """Say in plain words where the record has the unit."""
    place = f" {record.depot}" if record.depot else ""
    match record.presence:
        case "expected":
            return "expected" + (f" at{place}" if place else "")
        case "in-depot":
            return f"in{place}"
        case "away":
            return "away" + (f" from{place}" if place else "")
        case "disposed":
            return "disposed of"


def fold_sighting(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit was seen; it is where it was seen."""
    be_seen(record, entry, payload, notes)
    record.slot = payload.get("slot") or record.slot


def fold_restow(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit was moved to a slot."""
    be_seen(record, entry, payload, notes)
    record.slot = payload["slot"]


def fold_disposal(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """A unit's life here ended."""
    record.presence, record.whereabouts, record.slot = "disposed", payload["manner"], None
    record.reservation = record.sale = record.release = None
