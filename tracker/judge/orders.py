"""Judge what concerns an order by quantity: placing it, releasing on it, collecting from it."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from schemas.events.deal import Order, Release
from schemas.events.gate import Clearance
from schemas.findings import Finding
from schemas.orders import CollectionNote, OrderRecord
from schemas.records import LiveSale, Record, is_free
from tracker.judge import descriptions, order_rules, sale
from tracker.judge.judgement import Rulebook


@dataclass(frozen=True, slots=True)
class Availability:
    """How a depot stands for one description: units free for it, and those promised to others.

    `promised` counts what open orders with an overlapping description still wait for. A unit that
    fits two of them is counted on by both: never more is promised than there is, at the price of
    now and then promising less.
    """

    free: int
    promised: int

    @property
    def left(self) -> int:
        """How many may still be promised."""
        return max(0, self.free - self.promised)


def judge_order(event: Order, available: Availability) -> list[Finding]:
    """Return what stands against placing an order."""
    if event.count <= available.left:
        return []
    return [
        order_rules.TOO_FEW.finding(
            "count", seen=event.count, expected=available.left, depot=event.depot
        )
    ]


def leaves_orders_short(
    record: Record, waiting: Sequence[tuple[OrderRecord, Availability]]
) -> list[Finding]:
    """Return what stands against taking a free unit away from the open orders of its depot."""
    if not is_free(record):
        return []
    short = [
        f"{order.outstanding} for order {order.reference or order.order_id}"
        for order, available in waiting
        if available.free <= available.promised
        and not descriptions.misfits(record, order.description)
    ]
    if not short:
        return []
    seen = ", ".join(short)
    return [order_rules.PROMISED.finding("mark", seen=seen, depot=record.depot)]


def judge_release_on_order(event: Release, order: OrderRecord | None) -> list[Finding]:
    """Return what stands against giving a collection reference on an order."""
    if order is None:
        return [order_rules.NO_ORDER.finding("order", seen=str(event.order))]
    found = _hinders_order(order)
    unreleased = order.outstanding - sum(note.count - note.used for note in order.collection)
    if event.count > unreleased:
        found.append(
            order_rules.TOO_MANY_RELEASED.finding(
                "count", seen=event.count, expected=max(0, unreleased)
            )
        )
    return found


def judge_allotment(
    record: Record, order: OrderRecord | None, order_id: str, now: datetime, rules: Rulebook
) -> list[Finding]:
    """Return what stands against letting a unit go on an order."""
    if order is None:
        return [order_rules.NO_ORDER.finding("order", seen=order_id)]
    found = _hinders_order(order)
    misfits = descriptions.misfits(record, order.description)
    if not is_free(record):
        misfits = ["it is not free", *misfits]
    if misfits:
        found.append(order_rules.DOES_NOT_FIT.finding("mark", seen=", ".join(misfits)))
    return found + [
        finding
        for finding in sale.hinders_release(as_if_sold(record, order), now, rules)
        if finding.id != sale.UNPAID.id
    ]


def judge_collection(
    event: Clearance, record: Record, order: OrderRecord, now: datetime, rules: Rulebook
) -> list[Finding]:
    """Return what stands against a unit passing the barrier on an order's reference."""
    note = find_note(order, event.reference)
    if note is None:
        return [order_rules.REFERENCE_UNKNOWN.finding("reference", seen=event.reference)]
    found = judge_allotment(record, order, order.order_id, now, rules)
    found += sale.hinders_haulier(note.haulier, event.haulier)
    if note.used >= note.count:
        found.append(sale.USED_UP.finding("reference"))
    if note.expires_at and datetime.fromisoformat(note.expires_at) <= now:
        found.append(sale.EXPIRED.finding("reference", seen=note.expires_at[:16]))
    return found


def find_note(order: OrderRecord, reference: str) -> CollectionNote | None:
    """Return the order's note of a collection reference."""
    return next((note for note in order.collection if note.reference == reference), None)


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
        "journey_ends_on": order.journey_ends_on,
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
