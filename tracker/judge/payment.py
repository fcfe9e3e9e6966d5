"""May a payment be recorded? It pays a sale or an order that stands and was not paid before."""

from __future__ import annotations

from functools import partial
from typing import Final

from schemas.events.deal import Payment
from schemas.findings import Finding
from schemas.orders import OrderRecord
from schemas.records import Record
from tracker.judge import order_rules
from tracker.judge.rules import designed_refusal

_refusal: Final = partial(designed_refusal, "Hardstand design, sale and release")


NOTHING_TO_PAY: Final = _refusal(
    "payment.nothing-to-pay",
    "There is no live sale {seen} on this unit.",
    "A payment of a sale that is not, or no longer, live.",
)
PAID_ALREADY: Final = _refusal(
    "payment.paid-already",
    "It is paid already.",
    "What is paid stays so; a payment that was recorded wrongly is corrected.",
)
GOES_TO_ORDER: Final = _refusal(
    "payment.goes-to-order",
    "It went on the order {seen}, which is paid as a whole. Record the payment with the order.",
    "A unit that went on an order by quantity has no price of its own to be paid.",
)
RULES: Final = (NOTHING_TO_PAY, PAID_ALREADY, GOES_TO_ORDER)


def judge_payment(event: Payment, record: Record) -> list[Finding]:
    """Return what stands against a unit's sale being paid."""
    sold = record.sale
    if sold is None or sold.id != str(event.pays):
        return [NOTHING_TO_PAY.finding("pays", seen=str(event.pays))]
    if sold.order is not None:
        return [GOES_TO_ORDER.finding("pays", seen=sold.reference or sold.order)]
    return [PAID_ALREADY.finding("pays")] if sold.paid else []


def judge_payment_of_order(event: Payment, order: OrderRecord | None) -> list[Finding]:
    """Return what stands against an order being paid; one that is filled may still be."""
    if order is None:
        return [order_rules.NO_ORDER.finding("pays", seen=str(event.pays))]
    if order.state == "cancelled":
        return [order_rules.CLOSED.finding("pays", seen=order.state)]
    return [PAID_ALREADY.finding("pays")] if order.paid else []
