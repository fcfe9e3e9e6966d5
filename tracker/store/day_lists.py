"""What a depot's day holds: units expected at the gate, and units that need the workshop.

Each reads whole records, as `schemas.records.Record` names their fields, of few units.
"""

from __future__ import annotations

from typing import Any, Final

import orjson
from sqlalchemy import Connection, String, cast, func, select

from tracker.store.tables import RECORDS

_BODY: Final = cast(RECORDS.c.body, String).label("body")


def list_expected(connection: Connection, depot: str, size: int) -> list[dict[str, Any]]:
    """Return up to `size` units expected at a depot: those with a day first, the soonest first."""
    query = (
        select(_BODY)
        .where(
            RECORDS.c.depot == depot,
            RECORDS.c.presence == "expected",
            RECORDS.c.merged_into.is_(None),
        )
        .order_by(RECORDS.c.body["expected_on"].as_string().nulls_last(), RECORDS.c.mark)
        .limit(size)
    )
    return [orjson.loads(row.body) for row in connection.execute(query)]


def list_with_work(connection: Connection, depot: str, size: int) -> list[dict[str, Any]]:
    """Return up to `size` units in a depot that the workshop has to do with, the soonest first."""
    query = (
        select(_BODY)
        .where(RECORDS.c.depot == depot, RECORDS.c.has_work)
        .order_by(func.least(RECORDS.c.work_due_on, RECORDS.c.mend_by), RECORDS.c.mark)
        .limit(size)
    )
    return [orjson.loads(row.body) for row in connection.execute(query)]
