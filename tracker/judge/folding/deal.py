"""How buying and selling change a record. Who may is judged before; here it is only kept."""

from __future__ import annotations

from schemas.records import LiveRelease, LiveReservation, LiveSale, Record
from shared.moments import moment_said
from tracker.judge import sale
from tracker.judge.entry import Entry, Payload, moment_read
from tracker.judge.folding import work_orders
from tracker.judge.folding.notes import Notes
from tracker.judge.folding.yard import where
from tracker.judge.price import price_of
from tracker.judge.release_rules import let_pass_by


def fold_acquisition(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """Title passed. A programme of examinations was the old owner's and does not come along."""
    if record.owner != payload["owner"] and record.next_examination == "programme":
        record.next_examination = None
    record.owner, record.title_evidence = payload["owner"], payload["title_evidence"]
    record.previous_owner = payload.get("previous_owner") or record.previous_owner
    record.customs = payload.get("customs") or record.customs
    record.customs_entry = payload.get("customs_entry") or record.customs_entry


def fold_reservation(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The unit is kept for a buyer."""
    record.reservation = LiveReservation(
        id=entry.event_id,
        buyer=payload["buyer"],
        until=moment_read(payload["until"]),
        intended_use=payload["intended_use"],
    )


def fold_sale(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """The unit is sold; a reservation has done its work.

    No sale is granted on a sold unit, or on one that is gone. That one stands so all the same
    follows from what came to light later: a late report, a correction, two units that are one.
    """
    if record.sale is not None:
        seen = moment_said(record.sale.sold_at)
        notes.ask(record, entry, sale.SOLD_TWICE.finding("buyer", seen=seen))
    if record.presence in ("away", "disposed"):
        notes.ask(record, entry, sale.SOLD_WHEN_GONE.finding("buyer", seen=where(record)))
    record.reservation = None
    record.sale = LiveSale(
        id=entry.event_id,
        buyer=payload["buyer"],
        intended_use=payload["intended_use"],
        sold_at=entry.effective_at,
        paid=payload["paid"],
        on_credit=payload["on_credit"],
        reference=payload.get("reference"),
        journey_ends_on=payload.get("journey_ends_on"),
        handover=payload.get("handover"),
        fitted_before=dict(record.fittings) if payload.get("lines") else {},
        **price_of(payload, entry.resolved),
    )


def fold_payment(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The live sale is paid; one that was cancelled or taken back since is not there to be."""
    if record.sale is not None and record.sale.id == payload["pays"]:
        record.sale.paid, record.sale.paid_by = True, entry.event_id


def fold_release(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The sold unit may leave; one that was allotted to an order is sold by that."""
    allot(record, entry)
    expires_at = payload.get("expires_at")
    record.release = LiveRelease(
        id=entry.event_id,
        reference=entry.resolved.get("reference") or payload["reference"],
        released_at=entry.effective_at,
        haulier=payload.get("haulier"),
        marks_authority=payload.get("marks_authority"),
        expires_at=moment_read(expires_at) if expires_at else None,
        let_pass=let_pass_by(entry),
    )


def fold_passing_on(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """Another reference opens the barrier from now on, for another collector."""
    release, given = record.release, entry.resolved.get("reference")
    if release is None or given is None or sale.hinders_reference(release, payload["reference"]):
        # The release that it passed on was withdrawn since, or never stood.
        return
    release.former[release.reference] = entry.effective_at
    release.reference = given
    release.collector, release.haulier = payload["collector"], payload.get("haulier")


def allot(record: Record, entry: Entry) -> None:
    """Let the unit be sold by going on an order, where judging resolved that it does."""
    if terms := entry.resolved.get("sale"):
        # One that has ended may still stand here.
        record.reservation = None
        record.sale = LiveSale(**terms)


def fold_cancellation(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """Undo what the cancellation names; a sale takes its release along."""
    target = payload["cancels"]
    if record.reservation is not None and record.reservation.id == target:
        record.reservation = None
    if record.sale is not None and record.sale.id == target:
        record.sale = record.release = None
    if record.sale is not None and record.sale.paid_by == target:
        record.sale.paid, record.sale.paid_by = False, None
    if record.release is not None and record.release.id == target:
        record.release = None
    work_orders.forget_order(record, target)


def fold_take_back(record: Record, _entry: Entry, _payload: Payload, _notes: Notes) -> None:
    """The unit is ours again to sell."""
    record.sale = record.release = None
