"""Which units a batch was ever said of."""

from __future__ import annotations

from uuid import UUID

from sqlalchemy import Connection

from tracker.store import statements


def units_of_batch(connection: Connection, batch: str) -> list[UUID]:
    """Return the units that any report ever named with a batch, in no order."""
    return [row.unit_id for row in statements.rows(connection, "units_of_batch", batch=batch)]
