"""The rules of orders by quantity, and of the collection references that empty them."""

from __future__ import annotations

from functools import partial
from typing import Final

from tracker.judge.rules import designed_refusal

_refusal: Final = partial(designed_refusal, "Hardstand design, sale and release")


TOO_FEW: Final = _refusal(
    "order.too-few-in-stock",
    "Only {expected} such units are free and not promised at {depot}; {seen} were asked for.",
    "An order never promises more than there is, whoever asked first.",
)
PROMISED: Final = _refusal(
    "sale.promised-to-orders",
    "It is one of the last that open orders at {depot} count on: {seen}.",
    "Selling or reserving this unit would leave an open order short.",
)
NO_ORDER: Final = _refusal(
    "order.unknown",
    "No order {seen} is known.",
    "A release or cancellation names an order by its id.",
)
CLOSED: Final = _refusal(
    "order.closed",
    "The order is {seen}; nothing more can go on it.",
    "A filled or cancelled order takes no more.",
)
TOO_MANY_RELEASED: Final = _refusal(
    "order.released-too-many",
    "{seen} would be released on it, but only {expected} of it are not yet released.",
    "Collection references never open the barrier more often than was ordered.",
)
UNPAID: Final = _refusal(
    "order.unpaid",
    "It is neither paid nor sold on credit.",
    "A commercial refusal: payment first.",
)
DOES_NOT_FIT: Final = _refusal(
    "order.unit-does-not-fit",
    "This unit is not what was ordered: {seen}.",
    "A unit goes on an order only if it is free and fits the description.",
)
ONE_UNIT: Final = _refusal(
    "order.one-unit-named",
    "It names one unit and asks for {seen}. Leave the mark out, or release one.",
    "A release with a mark lets that one unit go on the order.",
)
REFERENCE_TAKEN: Final = _refusal(
    "release.reference-taken",
    "The collection reference {seen} is in use already.",
    "A collection reference means one release; leave it out, and a new one is made.",
)
REFERENCE_UNKNOWN: Final = _refusal(
    "clearance.unknown-reference",
    "No collection reference {seen} is known.",
    "The driver's reference is checked against those that were given out.",
)
TOO_MANY_PASSED: Final = _refusal(
    "release.passes-on-too-many",
    "{seen} would be passed on, but only {expected} are left on the reference.",
    "No more goes on than the reference still opens the barrier for.",
)

RULES: Final = (
    TOO_FEW,
    PROMISED,
    NO_ORDER,
    CLOSED,
    TOO_MANY_RELEASED,
    UNPAID,
    DOES_NOT_FIT,
    ONE_UNIT,
    REFERENCE_TAKEN,
    REFERENCE_UNKNOWN,
    TOO_MANY_PASSED,
)
