"""What people answered to alerts: seen to, or put off until a day, and why.

Kept only as long as the alert stands: `alerts.clear` takes it away.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Connection, select, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store.alerts import AlertRow
from tracker.store.tables import ALERT_ANSWERS, ALERTS


@dataclass(frozen=True, slots=True)
class AlertAnswer:
    """Who answered, when, and why; without a day to put it off until it is acknowledged."""

    answered_by: str
    answered_at: datetime
    reason: str
    put_off_until: date | None = None


def find_open(
    connection: Connection, unit_id: UUID, kind: str, cause: str | None
) -> list[AlertRow]:
    """Return the open alerts of a kind about a unit, or the one of a cause, the first due first."""
    columns = [ALERTS.c[column] for column in AlertRow.__slots__]
    query = select(*columns).where(
        ALERTS.c.unit_id == unit_id, ALERTS.c.kind == kind, ALERTS.c.cleared_at.is_(None)
    )
    if cause is not None:
        query = query.where(ALERTS.c.cause == cause)
    found = connection.execute(query.order_by(ALERTS.c.due_on, ALERTS.c.cause))
    return [AlertRow(*row) for row in found]


def put(connection: Connection, rows: Collection[AlertRow], answer: AlertAnswer) -> None:
    """Answer alerts, whatever was answered before."""
    said = {name: getattr(answer, name) for name in AlertAnswer.__slots__}
    for row in rows:
        which = {"unit_id": row.unit_id, "kind": row.kind, "cause": row.cause}
        connection.execute(
            insert(ALERT_ANSWERS)
            .values(**which, **said)
            .on_conflict_do_update(constraint="pk_alert_answers", set_=said)
        )


def forget(connection: Connection, value: str, instead: str) -> bool:
    """Write `instead` for a value about a person; return whether it stood anywhere."""
    found = 0
    for column in (ALERT_ANSWERS.c.answered_by, ALERT_ANSWERS.c.reason):
        done = connection.execute(
            update(ALERT_ANSWERS).where(column == value).values({column: instead})
        )
        found += done.rowcount
    return found > 0
