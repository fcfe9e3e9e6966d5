"""What was handed in and is no event: kept as it came, for somebody to look at."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, select

from tracker.store.tables import UNREADABLE


def list_all(connection: Connection) -> list[dict[str, Any]]:
    """Return what could not be read, oldest first, with why."""
    named = UNREADABLE.c.id.label("event_id")
    query = select(named, UNREADABLE.c.received_at, UNREADABLE.c.error)
    found = connection.execute(query.order_by(UNREADABLE.c.received_at, UNREADABLE.c.id))
    return [dict(row._mapping) for row in found]
