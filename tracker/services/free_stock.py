"""The free stock of depots, as a batch's orders and sales may count on it.

The batch holds the locks that keep others from changing it meanwhile (`store/orders.py`). What the
batch itself changed stands in its working set and not yet in the database; both are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from schemas.orders import OrderRecord
from schemas.records import Record, is_free
from tracker.judge import descriptions
from tracker.judge.orders import Availability
from tracker.services.working_set import WorkingSet
from tracker.store import orders
from tracker.store.orders import FreeUnits


class FreeStock:
    """Counts free units and open promises. Reads each depot once per batch."""

    def __init__(self, work: WorkingSet) -> None:
        self._work = work
        self._elsewhere: dict[str, list[FreeUnits]] = {}
        self._orders: dict[str, list[OrderRecord]] = {}

    def availability(
        self, depot: str, description: dict[str, Any], *, without: str | None = None
    ) -> Availability:
        """Return how a depot stands for a description; `without` leaves one order out."""
        promised = sum(
            order.outstanding
            for order in self.open_orders(depot)
            if order.order_id != without
            and descriptions.may_overlap(order.description, description)
        )
        return Availability(self._count(depot, description), promised)

    def open_orders(self, depot: str) -> list[OrderRecord]:
        """Return a depot's orders that wait for units, as this batch left them."""
        if depot not in self._orders:
            self._orders[depot] = orders.list_open(self._work.connection, depot)
        here = {str(order_id): stream.order for order_id, stream in self._work.orders.items()}
        known = {order.order_id: order for order in self._orders[depot]} | here
        return [order for order in known.values() if order.depot == depot and order.outstanding]

    def waiting(self, record: Record) -> Sequence[tuple[OrderRecord, Availability]]:
        """Return the open orders of the unit's depot, and how each stands."""
        if record.depot is None:
            return ()
        return [
            (order, self.availability(record.depot, order.description))
            for order in self.open_orders(record.depot)
        ]

    def _count(self, depot: str, description: dict[str, Any]) -> int:
        if depot not in self._elsewhere:
            known = [unit.unit_id for unit in self._work.units.values() if not unit.is_new]
            self._elsewhere[depot] = orders.count_free(self._work.connection, depot, known)
        elsewhere = sum(
            kind.units
            for kind in self._elsewhere[depot]
            if not descriptions.misfits(_as_record(kind), description)
        )
        here = sum(
            unit.record.depot == depot
            and is_free(unit.record)
            and not descriptions.misfits(unit.record, description)
            for unit in self._work.units.values()
        )
        return elsewhere + here


def _as_record(kind: FreeUnits) -> Record:
    return Record(
        "",
        size_type=kind.size_type,
        condition=kind.condition,
        colour=kind.colour,
        provenance=kind.provenance,
    )
