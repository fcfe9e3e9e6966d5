"""Count the stock for a glance: each count one statement, over columns and never over bodies."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, func, select

from tracker.store import alerts, statements
from tracker.store.tables import ALERTS, IS_HERE, QUESTIONS, RECORDS

Depots = Collection[str] | None
"""The depots to count for; None for all."""


def count_by_size_and_condition(connection: Connection, depots: Depots) -> list[dict[str, Any]]:
    """Return `size_type`, `condition`, `stands` and `units` of what stands in the depots."""
    columns = (RECORDS.c.size_type, RECORDS.c.condition, RECORDS.c.stands)
    query = (
        select(*columns, func.count().label("units"))
        .where(IS_HERE, *_among(RECORDS.c.depot, depots))
        .group_by(*columns)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def count_reserved_no_more(connection: Connection, depots: Depots, now: datetime) -> int:
    """Return how many units in the depots stand as reserved whose reservation has ended."""
    query = select(func.count()).where(
        RECORDS.c.reserved_until <= now,
        RECORDS.c.stands == "reserved",
        IS_HERE,
        *_among(RECORDS.c.depot, depots),
    )
    return connection.execute(query).scalar_one()


def count_by_arrival(
    connection: Connection, depots: Depots, edges: Collection[datetime]
) -> dict[int | None, int]:
    """Return how many units arrived between moments.

    `edges` go back in time. Key 0 counts what arrived since the first, key n what arrived between
    edge n and the edge before it, the last key all that is older; None what has no arrival.
    """
    # Buckets are reckoned from the back, since the database asks for edges that rise.
    rising = sorted(edges)
    bucket = func.width_bucket(RECORDS.c.arrived_at, rising)
    query = (
        select(bucket.label("bucket"), func.count().label("units"))
        .where(IS_HERE, *_among(RECORDS.c.depot, depots))
        .group_by(bucket)
    )
    return {
        None if row.bucket is None else len(rising) - row.bucket: row.units
        for row in connection.execute(query)
    }


def count_examinations(
    connection: Connection, depots: Depots, first: date, last: date
) -> list[dict[str, Any]]:
    """Return `month` and `units`: what is here and due in each month between, both included."""
    due = RECORDS.c.examination_on
    query = (
        select(due.label("month"), func.count().label("units"))
        .where(due.between(first, last), IS_HERE, *_among(RECORDS.c.depot, depots))
        .group_by(due)
        .order_by(due)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def count_examinations_missed(connection: Connection, depots: Depots, first: date) -> int:
    """Return how many units that are here were due before a month."""
    due = RECORDS.c.examination_on
    query = select(func.count()).where(due < first, IS_HERE, *_among(RECORDS.c.depot, depots))
    return connection.execute(query).scalar_one()


def count_gate(
    connection: Connection, depots: Depots, since: datetime, zone: str
) -> list[dict[str, Any]]:
    """Return `kind`, `day` (of that zone) and `units` of what passed the gate since a moment.

    What was withdrawn is not counted; what was given to another unit is counted once.
    """
    listed = None if depots is None else sorted(depots)
    found = statements.rows(connection, "count_gate", since=since, depots=listed, zone=zone)
    return [{"kind": kind, "day": day, "units": units} for kind, day, units in found]


def count_open_questions(connection: Connection, depots: Depots) -> tuple[int, datetime | None]:
    """Return how many questions are open, and when the newest of them was opened."""
    query = select(func.count(), func.max(QUESTIONS.c.opened_at)).select_from(QUESTIONS)
    row = connection.execute(query.where(*_among(QUESTIONS.c.depot, depots))).one()
    return row[0], row[1]


def count_unanswered_alerts(
    connection: Connection, depots: Depots, whose: Collection[tuple[str, str]]
) -> tuple[dict[str, int], int]:
    """Return how many unanswered alerts of each kind stand, and how many are for some roles.

    `whose` are pairs of depot and role, `*` for every depot; what is for them counts no breach.
    """
    theirs = func.count().filter(alerts.is_of(whose), ALERTS.c.kind != "breach")
    query = (
        select(ALERTS.c.kind, func.count().label("alerts"), theirs.label("theirs"))
        .where(
            ALERTS.c.cleared_at.is_(None),
            alerts.is_unanswered(),
            *_among(ALERTS.c.depot, depots),
        )
        .group_by(ALERTS.c.kind)
    )
    found = connection.execute(query).all()
    return {row.kind: row.alerts for row in found}, sum(row.theirs for row in found)


def _among(column: ColumnElement[Any], depots: Depots) -> list[ColumnElement[bool]]:
    return [] if depots is None else [column.in_(list(depots))]
