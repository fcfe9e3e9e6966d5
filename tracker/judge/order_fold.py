"""The fold of an order: what its history adds up to. Orders are short; they are folded whole."""

from __future__ import annotations

from collections.abc import Iterable

from schemas.orders import CollectionNote, OrderRecord
from shared import marks
from tracker.judge.entry import Entry, moment_read
from tracker.judge.price import price_of_order
from tracker.judge.release_rules import let_pass_by


def fold_order(order_id: str, history: Iterable[Entry]) -> OrderRecord:
    """Return the order that its entries add up to, in the order of their keys."""
    order = OrderRecord(order_id)
    for entry in sorted(history, key=lambda entry: entry.key):
        _apply(order, entry)
        order.events += 1
        order.last_key = entry.key
    return order


def _apply(order: OrderRecord, entry: Entry) -> None:
    match entry.kind:
        case "order":
            _place(order, entry)
        case "release":
            _release(order, entry)
        case "payment":
            order.paid, order.paid_by = True, entry.event_id
        case "clearance":
            _clear(order, entry)
        case "passing-on":
            _pass_on(order, entry)
        case "cancellation":
            _cancel(order, entry)
        case kind:
            raise ValueError(f"{kind} stands in no order's history")
    if order.state != "cancelled":
        order.state = "filled" if len(order.allotted) >= order.count else "open"


def _place(order: OrderRecord, entry: Entry) -> None:
    said = entry.payload
    order.depot, order.buyer = said["depot"], said["buyer"]
    order.description, order.count = said["description"], said["count"]
    order.intended_use, order.ordered_at = said["intended_use"], entry.effective_at
    order.paid, order.on_credit = said["paid"], said["on_credit"]
    for name, value in price_of_order(said, entry.resolved).items():
        setattr(order, name, value)
    order.reference, order.journey_ends_on = said.get("reference"), said.get("journey_ends_on")
    order.handover = said.get("handover")


def _release(order: OrderRecord, entry: Entry) -> None:
    """Give a reference for several, or allot the one unit that the release names."""
    if unit := entry.resolved.get("allots"):
        order.allotted.append(unit)
        return
    expires_at = entry.payload.get("expires_at")
    order.collection.append(
        CollectionNote(
            id=entry.event_id,
            reference=entry.resolved["reference"],
            count=entry.payload["count"],
            haulier=entry.payload.get("haulier"),
            expires_at=moment_read(expires_at) if expires_at else None,
            marks_authority=entry.payload.get("marks_authority"),
            let_pass=let_pass_by(entry),
        )
    )


def _clear(order: OrderRecord, entry: Entry) -> None:
    order.allotted.append(entry.resolved["allots"])
    for note in _notes_of(order, entry):
        note.used += 1


def _pass_on(order: OrderRecord, entry: Entry) -> None:
    """Take units off one reference, and give another for them."""
    wanted = marks.normalise(entry.payload["reference"])
    note = next(one for one in order.collection if marks.normalise(one.reference) == wanted)
    count = entry.payload.get("count") or note.left
    note.count -= count
    note.passed_on += count
    if not note.left:
        note.passed_on_at = entry.effective_at
    order.collection.append(
        CollectionNote(
            id=entry.event_id,
            reference=entry.resolved["reference"],
            count=count,
            haulier=entry.payload.get("haulier"),
            expires_at=note.expires_at,
            marks_authority=note.marks_authority,
            collector=entry.payload["collector"],
            passed_from=note.id,
            let_pass=[*note.let_pass],
        )
    )


def _cancel(order: OrderRecord, entry: Entry) -> None:
    """Withdraw the order, a reference on it, or one unit's going on it, which frees its count."""
    if unit := entry.resolved.get("returns"):
        order.allotted.remove(unit)
        for note in _notes_of(order, entry):
            note.used -= 1
            if note.passed_on_at is not None or note.withdrawn_at is not None:
                # It opens nothing any more: what comes back waits for another reference.
                note.count -= 1
        return
    target = entry.payload["cancels"]
    if target == order.order_id:
        order.state = "cancelled"
    if target == order.paid_by:
        order.paid, order.paid_by = False, None
    # What was collected on a reference stays collected; only the rest is withdrawn.
    gone = {target}
    for note in order.collection:
        if target == order.order_id or gone & {note.id, note.passed_from}:
            note.count = note.used
            note.withdrawn_at = note.withdrawn_at or entry.effective_at
            gone.add(note.id)


def _notes_of(order: OrderRecord, entry: Entry) -> list[CollectionNote]:
    return [note for note in order.collection if note.reference == entry.resolved["reference"]]
