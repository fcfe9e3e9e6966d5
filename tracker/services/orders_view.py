"""Show orders by quantity: the list, and of one what it has come to, its units and history."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson
from sqlalchemy import Connection

from schemas.orders import OrderRecord, load_order
from shared.errors import HardstandError
from tracker.judge.orders import count_unreleased
from tracker.services.context import Context
from tracker.services.shown_rows import show_row
from tracker.services.sight import Sight
from tracker.store import history, orders, people, records
from tracker.store.engine import one_moment
from tracker.store.orders import OrderFilter

_ALL: Final = OrderFilter()


class OrderUnknownError(HardstandError):
    """No order has this id; carries it."""

    def __init__(self, order_id: str) -> None:
        self.order_id = order_id
        super().__init__(
            f"No order {order_id!r} is known",
            expected="the id of the event that placed it",
            remedy="Look through the orders",
        )


@dataclass(frozen=True, slots=True)
class OrderView:
    """What is shown of one order, people named; all JSON."""

    order: dict[str, Any]
    """As of `list_orders`, and in `units` the id and mark of each unit that went on it."""
    history: list[dict[str, Any]]


def list_orders(context: Context, sight: Sight, wanted: OrderFilter = _ALL) -> list[dict[str, Any]]:
    """Return the orders of their depots, those that still wait for units first, people named.

    Each has `outstanding` besides its own fields: how many units are promised and not allotted; and
    `unreleased`: for how many of them no reference stands that opens the barrier. Each of its notes
    has `left`: how often it still opens the barrier, unless it has expired.
    """
    with context.engine.begin() as connection:
        now = context.clock.now()
        listed = orders.list_all(connection, replace(wanted, among=sight.depots))
        found = [_as_json(one, now) for one in listed]
        told: list[dict[str, Any]] = people.reveal(connection, found)
    return told


def show_order(context: Context, sight: Sight, order_id: str) -> OrderView:
    """Return an order of one of their depots.

    Raises:
        OrderUnknownError: there is no such order, or it is another depot's.
    """
    with one_moment(context.engine) as connection:
        known = _find(connection, order_id)
        order = load_order(orders.load_bodies(connection, [known])[known])
        if not sight.reaches(order.depot):
            raise OrderUnknownError(order_id)
        rows = history.load(connection, [known])[known]
        shown = {
            "order": _as_json(order, context.clock.now()) | {"units": _units(connection, order)},
            "history": [show_row(row) for row in rows],
        }
        told: dict[str, Any] = people.reveal(connection, shown)
    return OrderView(told["order"], told["history"])


def described(wanted: dict[str, Any]) -> str:
    """Say a description in words: what is left open is left out."""
    said = [f"{wanted['length_ft']} ft"]
    if (high := wanted.get("high")) is not None:
        said.append("9 ft 6 in high" if high else "not 9 ft 6 in high")
    if tuple(wanted["types"]) != ("G", "V"):
        said.append("type " + "/".join(wanted["types"]))
    said += [" or ".join(wanted["conditions"])] if wanted.get("conditions") else []
    said += [str(wanted[name]) for name in ("colour", "provenance") if wanted.get(name)]
    return ", ".join(said)


def _as_json(order: OrderRecord, now: datetime) -> dict[str, Any]:
    shown: dict[str, Any] = orjson.loads(orjson.dumps(order)) | {
        "outstanding": order.outstanding,
        "unreleased": count_unreleased(order, now),
    }
    for note, kept in zip(shown["collection"], order.collection, strict=True):
        note["left"] = kept.left
    return shown


def _find(connection: Connection, order_id: str) -> UUID:
    try:
        known = UUID(order_id)
    except ValueError:
        raise OrderUnknownError(order_id) from None
    if known not in orders.depots_of(connection, [known]):
        raise OrderUnknownError(order_id)
    return known


def _units(connection: Connection, order: OrderRecord) -> list[dict[str, Any]]:
    loaded = records.load(connection, [UUID(unit) for unit in order.allotted])
    return [
        {"unit_id": unit, "mark": loaded[UUID(unit)].mark, "tag": loaded[UUID(unit)].tag}
        for unit in order.allotted
    ]
