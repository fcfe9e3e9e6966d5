"""An order by quantity and description, as its history makes it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final, Literal

import orjson
from pydantic import TypeAdapter

OrderState = Literal["open", "filled", "cancelled"]


@dataclass(slots=True)
class CollectionNote:
    """A collection reference on the order: how often it opens the barrier, and for whom."""

    id: str
    reference: str
    count: int
    used: int = 0
    haulier: str | None = None
    expires_at: str | None = None
    marks_authority: str | None = None
    collector: str | None = None
    """Who may collect, where it was passed on to somebody."""
    passed_from: str | None = None
    """The `id` of the note that it was passed on from."""
    passed_on: int = 0
    """How many of its units were passed on; `count` is what it was left with."""
    let_pass: list[str] = field(default_factory=list)
    """The refusals that a manager let pass, in words: the barrier does not ask of them again."""
    passed_on_at: str | None = None
    """When all of it was passed on: since then it opens nothing."""
    withdrawn_at: str | None = None
    """When it was cancelled, or its order: since then it opens nothing, whatever comes back."""

    @property
    def left(self) -> int:
        """How often it still opens the barrier, unless it has expired."""
        return max(0, self.count - self.used)


@dataclass(slots=True)
class OrderRecord:
    """What is promised, to whom, and how much of it has gone. Holds no unit's record."""

    order_id: str
    depot: str = ""
    buyer: str = ""
    description: dict[str, Any] = field(default_factory=dict)
    count: int = 0
    intended_use: str = "storage"
    ordered_at: str = ""
    paid: bool = False
    paid_by: str | None = None
    """The payment that was recorded later, by its id; None where it was sold as paid."""
    on_credit: bool = False
    price_each: str | None = None
    currency: str | None = None
    tax_rate_percent: str | None = None
    untaxed_because: str | None = None
    net: str | None = None
    """Of all units ordered, and so `tax` and `gross`."""
    tax: str | None = None
    gross: str | None = None
    journey_ends_on: str | None = None
    handover: str | None = None
    """`collection` or `delivery`; None where nobody said."""
    reference: str | None = None
    allotted: list[str] = field(default_factory=list)
    """The units that went on it, by id, in the order they went."""
    collection: list[CollectionNote] = field(default_factory=list)
    state: OrderState = "open"
    events: int = 0
    last_key: tuple[str, int, str] = ("", 0, "")
    """Where its last event stands in the order; what is decided on it counts after that."""

    @property
    def outstanding(self) -> int:
        """How many units are promised and not yet allotted."""
        return max(0, self.count - len(self.allotted)) if self.state == "open" else 0


_ORDER: Final[TypeAdapter[OrderRecord]] = TypeAdapter(OrderRecord)


def dump_order(order: OrderRecord) -> bytes:
    """Write an order in its one way: UTF-8 JSON with sorted keys."""
    return orjson.dumps(order, option=orjson.OPT_SORT_KEYS)


def load_order(body: bytes | str) -> OrderRecord:
    """Read what `dump_order` wrote; raises pydantic's ValidationError for anything else."""
    return _ORDER.validate_json(body)
