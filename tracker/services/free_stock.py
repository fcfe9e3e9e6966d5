"""The free stock of depots and their open orders, as a batch's sales may count on them.

The batch holds the locks that keep others from changing it meanwhile (`store/orders.py`). What the
batch itself changed stands in its working set and not yet in the database; both are counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection

from schemas.orders import OrderRecord
from schemas.records import is_free
from tracker.judge.descriptions import Kind
from tracker.judge.promises import Promises, count_kinds
from tracker.services.working_set import WorkingSet
from tracker.store import orders


def promises_at(connection: Connection, depot: str | None, at: datetime) -> Promises:
    """Return what a depot has free and promised at a moment, as it is written down."""
    if depot is None:
        return Promises({}, at=at)
    return Promises(_count(connection, depot, at, []), orders.list_open(connection, depot), at)


def _count(
    connection: Connection, depot: str, at: datetime, without: Collection[UUID]
) -> Counter[Kind]:
    found = orders.count_free(connection, depot, at, without)
    return Counter({Kind(*kind): units for *kind, units in found})


class FreeStock:
    """Tells what depots have free and promised. Reads each depot once per batch.

    It counts at the moment of judging and not when each decision was asked: another, asked later
    and judged sooner, may count on a unit whose reservation ended in between.
    """

    def __init__(self, work: WorkingSet) -> None:
        self._work = work
        self._at = work.recorded_at
        self._elsewhere: dict[str, Counter[Kind]] = {}
        self._orders: dict[str, list[OrderRecord]] = {}

    def promises(self, depot: str | None) -> Promises:
        """Return what a depot has free and promised, as this batch left it."""
        if depot is None:
            return Promises({}, at=self._at)
        return Promises(self._stock(depot), self._open_orders(depot), self._at)

    def has_promised(self, depot: str | None) -> bool:
        """Say whether orders wait at a depot; where none do, nothing needs to be counted."""
        return depot is not None and bool(self._open_orders(depot))

    def _open_orders(self, depot: str) -> list[OrderRecord]:
        if depot not in self._orders:
            self._orders[depot] = orders.list_open(self._work.connection, depot)
        here = {str(order_id): stream.order for order_id, stream in self._work.orders.items()}
        known = {order.order_id: order for order in self._orders[depot]} | here
        return [order for order in known.values() if order.depot == depot and order.outstanding]

    def _stock(self, depot: str) -> Counter[Kind]:
        if depot not in self._elsewhere:
            known = [unit.unit_id for unit in self._work.units.values() if not unit.is_new]
            self._elsewhere[depot] = _count(self._work.connection, depot, self._at, known)
        here = (unit.record for unit in self._work.units.values())
        return self._elsewhere[depot] + count_kinds(
            record for record in here if record.depot == depot and is_free(record, self._at)
        )
