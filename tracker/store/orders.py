"""Orders by quantity: what each has come to, and what free stock there is to fill them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, String, cast, delete, func, select

from schemas.orders import OrderRecord, OrderState, dump_order, load_order
from tracker.store import statements
from tracker.store.tables import HEADS, ORDERS


class FreeUnits(NamedTuple):
    """How many free units of one kind a depot has."""

    size_type: str | None
    condition: str | None
    colour: str | None
    provenance: str | None
    units: int


def load(connection: Connection, order_ids: Collection[UUID]) -> dict[UUID, OrderRecord]:
    """Return the orders of those ids that are orders."""
    return {
        order_id: load_order(body) for order_id, body in load_bodies(connection, order_ids).items()
    }


def load_bodies(connection: Connection, order_ids: Collection[UUID]) -> dict[UUID, str]:
    """Return the orders of those ids that are orders, as they are written down."""
    if not order_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT order_id, body::text FROM orders WHERE order_id = ANY(%s::uuid[])",
        (list(order_ids),),
    )
    return {row.order_id: row.body for row in found}


def depots_of(connection: Connection, order_ids: Collection[UUID]) -> dict[UUID, str]:
    """Return the depot of each id that is an order's."""
    if not order_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT order_id, depot FROM orders WHERE order_id = ANY(%s::uuid[])", (list(order_ids),)
    )
    return {row.order_id: row.depot for row in found}


def write(connection: Connection, orders: Collection[OrderRecord]) -> None:
    """Write orders, new ones and known ones."""
    for order in orders:
        statements.run(
            connection,
            "put_order",
            order_id=order.order_id,
            depot=order.depot,
            state=order.state,
            outstanding=order.outstanding,
            body=dump_order(order).decode(),
        )


def lock_stock(connection: Connection, placing: Collection[str], selling: Collection[str]) -> None:
    """Lock the free stock of depots until the transaction ends.

    Where orders are placed nobody else sells or places meanwhile. Those who only sell wait for each
    other only where orders are open, which both might leave short. In one order for all, so that
    two drains wait and never deadlock.
    """
    for depot in sorted({*placing, *selling}):
        alone = depot in placing
        statements.run(
            connection, "lock_stock_alone" if alone else "lock_stock_shared", depot=depot
        )
    for depot in sorted({*selling} - {*placing}):
        if has_open(connection, depot):
            statements.run(connection, "lock_stock_promised", depot=depot)


def has_open(connection: Connection, depot: str) -> bool:
    """Say whether a depot has orders that still wait for units."""
    query = select(ORDERS.c.order_id).where(ORDERS.c.depot == depot, ORDERS.c.outstanding > 0)
    return connection.execute(query.limit(1)).first() is not None


def depots_to_look_at(connection: Connection, depots: Collection[str]) -> set[str]:
    """Return those depots that have open orders, or alerts about orders that are short."""
    found = statements.rows(connection, "depots_with_promises", depots=sorted(depots))
    return {row.depot for row in found}


def list_open(connection: Connection, depot: str) -> list[OrderRecord]:
    """Return a depot's orders that still wait for units, by id."""
    found = connection.exec_driver_sql(
        "SELECT body::text FROM orders WHERE depot = %s AND outstanding > 0 ORDER BY order_id",
        (depot,),
    )
    return [load_order(row.body) for row in found]


def list_without_head(connection: Connection) -> list[UUID]:
    """Return orders that no history stands behind."""
    found = connection.execute(
        select(ORDERS.c.order_id)
        .outerjoin(HEADS, HEADS.c.stream_id == ORDERS.c.order_id)
        .where(HEADS.c.stream_id.is_(None))
        .order_by(ORDERS.c.order_id)
    )
    return list(found.scalars())


def remove(connection: Connection, order_ids: Collection[UUID]) -> None:
    """Remove orders."""
    connection.execute(delete(ORDERS).where(ORDERS.c.order_id.in_(list(order_ids))))


@dataclass(frozen=True, slots=True)
class OrderFilter:
    """What orders to list; what is None filters nothing."""

    depot: str | None = None
    among: Collection[str] | None = None
    """Depots that whoever asks may see; None for all."""
    state: OrderState | None = None
    reference: str | None = None
    """A part of the buyer's own reference, in small letters or capitals."""


def list_all(connection: Connection, wanted: OrderFilter) -> list[OrderRecord]:
    """Return up to 500 orders, those that wait for units first."""
    query = select(cast(ORDERS.c.body, String).label("body")).order_by(
        ORDERS.c.outstanding == 0, ORDERS.c.order_id.desc()
    )
    if wanted.depot is not None:
        query = query.where(ORDERS.c.depot == wanted.depot)
    if wanted.among is not None:
        query = query.where(ORDERS.c.depot.in_(list(wanted.among)))
    if wanted.state is not None:
        query = query.where(ORDERS.c.body["state"].as_string() == wanted.state)
    if wanted.reference is not None:
        given = func.lower(ORDERS.c.body["reference"].as_string())
        query = query.where(given.contains(wanted.reference.lower(), autoescape=True))
    return [load_order(row.body) for row in connection.execute(query.limit(500))]


def count_free(
    connection: Connection, depot: str, at: datetime, without: Collection[UUID]
) -> list[FreeUnits]:
    """Return the units of a depot that are free at a moment by kind, those named left out."""
    found = statements.rows(connection, "count_free", depot=depot, at=at, without=list(without))
    return [FreeUnits(*row) for row in found]
