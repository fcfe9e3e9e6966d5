"""Which units a batch was ever said of, and which batches are still awaited."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, func, select

from tracker.store import statements
from tracker.store.tables import RECORDS


def units_of_batch(connection: Connection, batch: str) -> list[UUID]:
    """Return the units that any report ever named with a batch, in no order."""
    return [row.unit_id for row in statements.rows(connection, "units_of_batch", batch=batch)]


def list_awaited(
    connection: Connection, depots: Collection[str] | None, size: int
) -> list[dict[str, Any]]:
    """Return `batch depot units expected_on` of batches with units to come, the soonest first.

    `depots` are those that whoever asks may see; None for all.
    """
    batch = RECORDS.c.body["batch"].as_string()
    soonest = func.min(RECORDS.c.body["expected_on"].as_string())
    query = (
        select(
            batch.label("batch"),
            RECORDS.c.depot,
            func.count().label("units"),
            soonest.label("expected_on"),
        )
        .where(
            RECORDS.c.presence == "expected", RECORDS.c.merged_into.is_(None), batch.is_not(None)
        )
        .group_by(batch, RECORDS.c.depot)
        .order_by(soonest.nulls_last(), batch)
        .limit(size)
    )
    if depots is not None:
        query = query.where(RECORDS.c.depot.in_(list(depots)))
    return [dict(row) for row in connection.execute(query).mappings()]
