"""How sightings, moves within the depot and disposals change a record."""

from __future__ import annotations

from schemas.records import CheckSeen, Record
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
    record.slot = None


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
    if check := payload.get("check"):
        _note_check(record, check, payload)
    be_seen(record, entry, payload, notes)
    record.slot = payload.get("slot") or record.slot


def _note_check(record: Record, check: str, payload: Payload) -> None:
    """Keep what the record said before; seen twice by one check, what it said at first."""
    depot, slot = payload["depot"], payload.get("slot")
    if record.check is not None and record.check.check == check and record.check.depot == depot:
        record.check.slot = slot or record.check.slot
        return
    is_here = record.presence == "in-depot" and record.depot == depot
    record.check = CheckSeen(
        check=check,
        depot=depot,
        slot=slot,
        slot_before=record.slot if is_here else None,
        not_in=None if is_here else where(record),
    )


def fold_restow(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit was moved to a slot."""
    be_seen(record, entry, payload, notes)
    record.slot = payload["slot"]


def fold_disposal(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit's life here ended. That somebody waits for it is a breach, unless it went to him."""
    if record.presence != "away" and (record.sale or record.reservation):
        words = "sold" if record.sale else "reserved"
        notes.report(
            record,
            entry,
            presence.DISPOSED_WHEN_PROMISED.finding("manner", seen=payload["manner"], words=words),
        )
    record.presence, record.whereabouts, record.slot = "disposed", payload["manner"], None
    record.reservation = record.sale = record.release = None
