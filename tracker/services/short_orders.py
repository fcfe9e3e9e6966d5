"""Tell the sales desk of orders that facts left short, and take that back when they are covered.

A fact is recorded whatever it does to a promise: a unit leaves against the answer, is held,
scrapped or graded lower. Drains record facts side by side without waiting for the stock, so none of
them sees what all of them did. Each therefore looks once it has committed: whoever looks last sees
everything. A drain that died in between is made up for by the round, which looks every hour;
it also sees units that come free only because the moment comes at which their reservation ends.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Final
from uuid import UUID

import structlog
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from schemas.orders import OrderRecord
from shared.due_schedule import schedules
from tracker.judge import due
from tracker.services.context import Context
from tracker.services.free_stock import promises_at
from tracker.store import alerts, house, orders, outbox
from tracker.store.alerts import AlertRow
from tracker.store.outbox import Letter, letter_id

log = structlog.get_logger()

_NEXT: Final = timedelta(days=1)


def look(context: Context, depots: Collection[str]) -> int:
    """Hold the open orders of depots against their free stock; return how many alerts changed.

    Waits for sales under way at a depot with open orders. May be called at any time and again.
    """
    if not depots:
        return 0
    changed = 0
    with context.engine.begin() as connection:
        concerned = orders.depots_to_look_at(connection, depots)
    for depot in sorted(concerned):
        with context.engine.begin() as connection:
            orders.lock_stock(connection, placing=[], selling=[depot])
            changed += _look_at(connection, depot, context.clock.now())
    return changed


def look_if_possible(context: Context, depots: Collection[str]) -> None:
    """Look like `look`; what the database is too busy for is left to the round."""
    try:
        look(context, depots)
    except DBAPIError as fault:
        log.warning("orders.not_looked_at", depots=sorted(depots), fault=type(fault).__name__)


def _look_at(connection: Connection, depot: str, now: datetime) -> int:
    promises = promises_at(connection, depot, now)
    today = now.astimezone(house.zones(connection).get(depot, UTC)).date()
    short = promises.short_by_order()
    rows = {row.unit_id: row for row in _rows(promises.orders, short, depot, today)}
    standing = {row.unit_id: row for row in alerts.list_open_at(connection, depot, due.ORDER_SHORT)}
    # Short by another number is news; whoever answered answered the old one.
    gone = [row for row in standing.values() if _says(rows.get(row.unit_id)) != row.says]
    alerts.clear(connection, gone, now)
    new = [row for row in rows.values() if _says(standing.get(row.unit_id)) != row.says]
    alerts.raise_all(connection, new)
    outbox.post(connection, [_letter(row, now) for row in new], now)
    for row in new:
        log.warning("order.short", order_id=str(row.unit_id), depot=depot, short=short[row.cause])
    return len(gone) + len(new)


def _rows(
    open_orders: Collection[OrderRecord], short: dict[str, int], depot: str, today: date
) -> Iterator[AlertRow]:
    for order in open_orders:
        if missing := short.get(order.order_id):
            yield AlertRow(
                unit_id=UUID(order.order_id),
                kind=due.ORDER_SHORT,
                cause=order.order_id,
                depot=depot,
                role=schedules()[due.ORDER_SHORT].role,
                due_on=today,
                says=f"Order {order.reference or order.order_id} is short: {missing} of its units "
                f"cannot be found in the free stock of {depot}: since it was placed, something "
                "left, was held, graded lower or is gone.",
                raised_on=today,
                next_on=today + _NEXT,
            )


def _says(row: AlertRow | None) -> str | None:
    return None if row is None else row.says


def _letter(row: AlertRow, now: datetime) -> Letter:
    return Letter(
        id=letter_id(due.ORDER_SHORT, row.cause, row.says, now.isoformat()),
        depot=row.depot,
        role=row.role,
        subject=f"Order short of units: {row.depot}",
        body={
            "opening": f"At {row.depot} more is promised than there is.",
            "lines": [{"mark": "An order", "says": row.says, "on": str(row.due_on)}],
            "path": "/orders",
            "closing": "Find units that fit, buy some, or talk to the buyer. This goes by itself "
            "as soon as there are enough.",
        },
    )
