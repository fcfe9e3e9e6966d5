"""How arrivals and departures change a record."""

from __future__ import annotations

from schemas.records import NOT_OURS, LiveRelease, Record
from shared.moments import moment_said
from tracker.judge import presence
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding import air, work_orders
from tracker.judge.folding.claims import claim_arrival
from tracker.judge.folding.deal import allot
from tracker.judge.folding.notes import Notes
from tracker.judge.folding.readings import take_readings
from tracker.judge.folding.yard import where


def fold_pre_advice(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """A unit is expected; what is said of it holds until somebody reads the box."""
    if record.presence in ("expected", "away"):
        record.presence, record.depot = "expected", payload["depot"]
        record.whereabouts = payload.get("supplier")
    record.batch, record.expected_on = payload["batch"], payload.get("expected_on")
    record.purpose = record.purpose or payload["purpose"]
    take_readings(record, payload)


def fold_gate_in(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit came in."""
    depot = payload["depot"]
    if record.presence == "in-depot":
        finding = presence.MISSED_DEPARTURE.finding(
            "happened_at",
            seen=record.depot,
            depot=depot,
            since=_known_since(record),
        )
        notes.ask(record, entry, finding)
    record.presence, record.depot, record.whereabouts = "in-depot", depot, None
    record.arrived_at = record.last_seen_at = entry.effective_at
    record.left_at = record.expected_on = None
    record.slot = payload.get("slot")
    if not (payload["purpose"] == "transfer" and record.purpose in NOT_OURS):
        # Between our own depots somebody else's box stays somebody else's.
        record.purpose = payload["purpose"]
    record.batch = payload.get("batch") or record.batch
    if record.purpose in ("take-back", "failed-delivery"):
        record.release = None
    take_readings(record, payload)
    air.take_arrival(record, payload)
    work_orders.begin_stay(record, entry)
    claim_arrival(record, entry, payload)


def fold_gate_out(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit left; what should have stopped it is a breach."""
    depot, purpose = payload["depot"], payload["purpose"]
    if record.presence != "in-depot" or record.depot != depot:
        notes.ask(
            record,
            entry,
            presence.MISSED_ARRIVAL.finding("happened_at", seen=where(record), depot=depot),
        )
    if purpose in presence.NEEDS_RELEASE and record.release is None:
        notes.report(
            record,
            entry,
            presence.LEFT_UNRELEASED.finding("purpose", seen=purpose, depot=depot, purpose=purpose),
        )
    if record.holds:
        held = ", ".join(sorted(hold.hold for hold in record.holds))
        notes.report(
            record, entry, presence.LEFT_UNDER_HOLD.finding("mark", seen=held, depot=depot)
        )
    record.left_at, record.slot, record.release = entry.effective_at, None, None
    if record.mark is not None:
        # What was tied to the box goes with it or comes off; only the mark still says which it is.
        record.tag = None
    to_depot = payload.get("to_depot")
    if purpose == "transfer" and to_depot:
        record.presence, record.depot, record.whereabouts = "expected", to_depot, "in transit"
    else:
        record.presence, record.whereabouts = "away", _gone_for(purpose)


def fold_delivery(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A delivery ended, one way or the other."""
    outcome = payload["outcome"]
    if record.sale is not None and (proof := payload.get("proof_of_export")):
        record.sale.proof_of_export = proof
    if record.presence == "in-depot":
        finding = presence.DELIVERED_WHILE_HERE.finding(
            "outcome", seen=outcome, depot=record.depot, since=_known_since(record)
        )
        notes.ask(record, entry, finding)
        return
    record.whereabouts = outcome if outcome == "delivered" else "on the lorry"


def fold_clearance(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The barrier used up a count of the release; on an order's reference it allots the unit."""
    allot(record, entry)
    if record.release is None:
        reference = entry.resolved.get("reference") or payload["reference"]
        record.release = LiveRelease(entry.event_id, reference, entry.effective_at)
    record.release.cleared = True


def _known_since(record: Record) -> str:
    since = record.arrived_at or record.last_seen_at
    return moment_said(since) if since else "some day"


def _gone_for(purpose: str) -> str:
    match purpose:
        case "outside-repair":
            return "outside workshop"
        case "sale" | "hire":
            return "on the way to the buyer"
        case _:
            return purpose
