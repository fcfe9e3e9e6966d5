"""Judge what concerns an order by quantity: placing it, releasing on it, collecting from it."""

from __future__ import annotations

from copy import copy
from datetime import datetime
from typing import Any, NamedTuple

from schemas.events.deal import Order, Release
from schemas.findings import Finding
from schemas.orders import CollectionNote, OrderRecord
from schemas.records import LiveSale, Record, is_free
from shared import marks
from shared.moments import moment_said
from tracker.judge import descriptions, order_rules, sale
from tracker.judge.judgement import Rulebook
from tracker.judge.promises import Promises
from tracker.judge.release_rules import pass_again


def judge_order(event: Order, promises: Promises) -> list[Finding]:
    """Return what stands against placing an order."""
    left = promises.left_for(event.description.model_dump(mode="json", exclude_none=True))
    if event.count <= left:
        return []
    return [
        order_rules.TOO_FEW.finding("count", seen=event.count, expected=left, depot=event.depot)
    ]


def leaves_orders_short(
    record: Record, promises: Promises, *, goes_on: OrderRecord | None = None
) -> list[Finding]:
    """Return what stands against taking a free unit away from the open orders of its depot.

    `goes_on` is the order that it is taken for, where it is; the others may still be left short.
    """
    if not is_free(record, promises.at):
        return []
    own = None if goes_on is None else goes_on.order_id
    others = [order for order in promises.waiting_for(record) if order.order_id != own]
    if not others or promises.short_without(record, goes_on=own) <= promises.short():
        return []
    seen = ", ".join(
        f"{order.outstanding} for order {order.reference or order.order_id}" for order in others
    )
    return [order_rules.PROMISED.finding("mark", seen=seen, depot=record.depot)]


def judge_release_on_order(
    event: Release, order: OrderRecord | None, now: datetime
) -> list[Finding]:
    """Return what stands against giving a collection reference on an order."""
    if order is None:
        return [order_rules.NO_ORDER.finding("order", seen=str(event.order))]
    found, unreleased = _hinders_order(order), count_unreleased(order, now)
    if event.count > unreleased:
        found.append(
            order_rules.TOO_MANY_RELEASED.finding("count", seen=event.count, expected=unreleased)
        )
    return found


def count_unreleased(order: OrderRecord, now: datetime) -> int:
    """Return for how many units of an order a collection reference may still be given."""
    # An expired reference opens nothing any more, and holds nothing back.
    live = [note for note in order.collection if not _is_expired(note, now)]
    return max(0, order.outstanding - sum(note.left for note in live))


def judge_allotment(
    record: Record,
    order: OrderRecord,
    promises: Promises,
    now: datetime,
    rules: Rulebook,
    *,
    authority: str | None = None,
) -> list[Finding]:
    """Return what stands against letting a unit go on an order.

    `promises` are those of the unit's depot; `authority` as for `sale.hinders_release`.
    """
    found = _hinders_order(order)
    misfits = descriptions.misfits(record, order.description)
    if record.presence == "in-depot" and record.depot != order.depot:
        misfits = [f"it stands in {record.depot}, not in {order.depot}", *misfits]
    if not is_free(record, now):
        misfits = ["it is not free", *misfits]
    if misfits:
        found.append(order_rules.DOES_NOT_FIT.finding("mark", seen=", ".join(misfits)))
    else:
        found += leaves_orders_short(record, promises, goes_on=order)
    as_sold = as_if_sold(record, order)
    return found + [
        finding
        for finding in sale.hinders_release(as_sold, now, rules, authority=authority)
        if finding.id != sale.UNPAID.id
    ]


class Driver(NamedTuple):
    """What a driver shows at the barrier."""

    reference: str
    haulier: str | None = None


def judge_collection(
    driver: Driver,
    record: Record,
    order: OrderRecord,
    promises: Promises,
    now: datetime,
    rules: Rulebook,
) -> list[Finding]:
    """Return what stands against a unit passing the barrier on an order's reference."""
    note = find_note(order, driver.reference)
    if note is None:
        return [order_rules.REFERENCE_UNKNOWN.finding("reference", seen=driver.reference)]
    found = judge_allotment(record, order, promises, now, rules, authority=note.marks_authority)
    found = pass_again(found, note.let_pass)
    found += sale.hinders_haulier(note.haulier, driver.haulier)
    return found + hinders_reference(note, now)


def hinders_note(order: OrderRecord, note: CollectionNote, now: datetime) -> list[Finding]:
    """Return what stands against anything passing the barrier on an order's reference."""
    return pass_again(_hinders_order(order), note.let_pass) + hinders_reference(note, now)


def hinders_reference(note: CollectionNote, now: datetime) -> list[Finding]:
    """Return why a reference on an order opens the barrier no more."""
    if note.passed_on_at is not None:
        return [sale.PASSED_ON.finding("reference", seen=moment_said(note.passed_on_at))]
    found = []
    if note.used >= note.count:
        found.append(sale.USED_UP.finding("reference"))
    if note.expires_at and _is_expired(note, now):
        found.append(sale.EXPIRED.finding("reference", seen=moment_said(note.expires_at)))
    return found


def find_note(order: OrderRecord, reference: str) -> CollectionNote | None:
    """Return the order's note of a collection reference."""
    wanted = marks.normalise(reference)
    return next(
        (note for note in order.collection if marks.normalise(note.reference) == wanted), None
    )


def what_opens(note: CollectionNote) -> dict[str, str]:
    """Return what a clearance on an order's reference resolves of it, for the unit's record."""
    given_to = {} if note.haulier is None else {"haulier": note.haulier}
    return {"reference": note.reference, **given_to}


def _is_expired(note: CollectionNote, now: datetime) -> bool:
    return note.expires_at is not None and datetime.fromisoformat(note.expires_at) <= now


def sale_of(order: OrderRecord, event_id: str, at: str) -> dict[str, Any]:
    """Return the sale that a unit has by going on an order, as its record keeps one."""
    return {
        "id": event_id,
        "buyer": order.buyer,
        "intended_use": order.intended_use,
        "sold_at": at,
        "paid": order.paid,
        "on_credit": order.on_credit,
        "reference": order.reference,
        "price": order.price_each,
        "currency": order.currency,
        "tax_rate_percent": order.tax_rate_percent,
        "untaxed_because": order.untaxed_because,
        "journey_ends_on": order.journey_ends_on,
        "handover": order.handover,
        "order": order.order_id,
    }


def _hinders_order(order: OrderRecord) -> list[Finding]:
    found = []
    if order.state != "open":
        found.append(order_rules.CLOSED.finding("order", seen=order.state))
    if not (order.paid or order.on_credit):
        found.append(order_rules.UNPAID.finding("order"))
    return found


def as_if_sold(record: Record, order: OrderRecord) -> Record:
    """Return a copy of the record with the order's sale in it, to judge what its use asks."""
    sold = copy(record)
    sold.sale = LiveSale(**sale_of(order, order.order_id, order.ordered_at))
    return sold
