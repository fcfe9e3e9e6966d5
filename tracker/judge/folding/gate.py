"""How arrivals and departures change a record."""

from __future__ import annotations

from schemas.findings import Finding
from schemas.records import NOT_OURS, Breach, LeftUncleared, LiveRelease, Record
from shared.moments import moment_said
from tracker.judge import leaving, presence
from tracker.judge.entry import Entry, Payload, moment_read
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
    record.left_at = record.expected_on = record.uncleared = None
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
    record.uncleared = None
    if purpose in presence.NEEDS_RELEASE:
        _leave_for_buyer(record, entry, payload, notes)
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


def _leave_for_buyer(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    depot, purpose = payload["depot"], payload["purpose"]
    left = LeftUncleared(
        event=entry.event_id,
        at=entry.effective_at,
        depot=depot,
        purpose=purpose,
        reference=payload.get("reference"),
        haulier=payload.get("haulier"),
        release=record.release,
    )
    if record.release is None:
        notes.report(
            record,
            entry,
            presence.LEFT_UNRELEASED.finding("purpose", seen=purpose, depot=depot, purpose=purpose),
        )
        record.uncleared = left
    elif entry.resolved.get(leaving.ASKS_CLEARANCE):
        if found := _against(record.release, left):
            notes.report(record, entry, found)
        if not record.release.cleared:
            record.uncleared = left


def _against(release: LiveRelease, left: LeftUncleared) -> Finding | None:
    reasons = leaving.stands_against(release, left)
    if not reasons:
        return None
    return leaving.AGAINST_ANSWER.finding(
        "purpose", seen=reasons, depot=left.depot, purpose=left.purpose, words="; ".join(reasons)
    )


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
    left = record.uncleared
    is_late = left is not None and moment_read(payload["happened_at"]) <= left.at
    release = left.release if left is not None and is_late else record.release
    if release is None:
        reference = entry.resolved.get("reference") or payload["reference"]
        release = LiveRelease(
            entry.event_id,
            reference,
            entry.effective_at,
            haulier=entry.resolved.get("haulier"),
        )
    release.cleared, release.cleared_for = True, payload.get("haulier")
    if left is not None and is_late:
        _answer_departure(record, left, release)
    else:
        record.release = release


def _answer_departure(record: Record, left: LeftUncleared, release: LiveRelease) -> None:
    """Let a clearance that came in late stand for the departure after which it came."""
    record.uncleared = None
    for_want_of_it = {presence.LEFT_UNRELEASED.id, leaving.AGAINST_ANSWER.id}
    record.breaches = [
        breach
        for breach in record.breaches
        if breach.event != left.event or breach.finding not in for_want_of_it
    ]
    if found := _against(release, left):
        record.breaches.append(Breach(left.event, found.id, found.message, left.at))


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
