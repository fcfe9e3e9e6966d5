"""What falls due, once per unit, kind and cause, and how often it was told."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Connection,
    Table,
    and_,
    delete,
    exists,
    or_,
    select,
    tuple_,
    update,
)
from sqlalchemy.dialects.postgresql import insert

from tracker.store import statements
from tracker.store.tables import ALERT_ANSWERS, ALERTS, RECORDS


@dataclass(frozen=True, slots=True)
class AlertRow:
    """One alert. `step` counts the reminders that have gone; on `next_on` the next one goes.

    `unit_id` is the order's where the alert is about an order by quantity.
    """

    unit_id: UUID
    kind: str
    cause: str
    depot: str
    role: str
    due_on: date
    says: str
    raised_on: date
    step: int = 0
    next_on: date | None = None


def as_values(row: AlertRow) -> dict[str, Any]:
    """Return the row as the table names its columns."""
    return {column: getattr(row, column) for column in AlertRow.__slots__}


def raise_all(connection: Connection, rows: Collection[AlertRow]) -> None:
    """Raise alerts. One that stands already stays as it is; one that was cleared stands again."""
    if not rows:
        return
    statement = insert(ALERTS)
    connection.execute(
        statement.on_conflict_do_update(
            constraint="pk_alerts",
            set_={
                "cleared_at": None,
                "step": 0,
                "due_on": statement.excluded.due_on,
                "depot": statement.excluded.depot,
                "says": statement.excluded.says,
                "role": statement.excluded.role,
                "raised_on": statement.excluded.raised_on,
                "next_on": statement.excluded.next_on,
            },
            where=ALERTS.c.cleared_at.is_not(None),
        ),
        [
            as_values(row)
            for row in sorted(rows, key=lambda row: (row.unit_id, row.kind, row.cause))
        ],
    )


def list_open_of(connection: Connection, unit_ids: Collection[UUID]) -> list[AlertRow]:
    """Return the open alerts of units."""
    found = statements.rows(connection, "open_alerts", unit_ids=list(unit_ids))
    return [AlertRow(*row) for row in found]


def list_answered_of(connection: Connection, unit_id: UUID) -> list[dict[str, Any]]:
    """Return a unit's open alerts as JSON, each with what was answered, the one due first first."""
    return [
        {
            name: value.isoformat() if isinstance(value, date) else value
            for name, value in row._asdict().items()
        }
        for row in statements.rows(connection, "alerts_of_unit", unit_id=unit_id)
    ]


def list_open_at(connection: Connection, depot: str, kind: str) -> list[AlertRow]:
    """Return the open alerts of one kind at a depot."""
    columns = [ALERTS.c[column] for column in AlertRow.__slots__]
    is_open = (ALERTS.c.cleared_at.is_(None), ALERTS.c.kind == kind, ALERTS.c.depot == depot)
    return [AlertRow(*row) for row in connection.execute(select(*columns).where(*is_open))]


def clear(connection: Connection, rows: Iterable[AlertRow], at: datetime) -> None:
    """Clear alerts whose cause is gone, and take away what was answered to them."""
    for row in rows:
        connection.execute(update(ALERTS).where(*_is(ALERTS, row)).values(cleared_at=at))
        connection.execute(delete(ALERT_ANSWERS).where(*_is(ALERT_ANSWERS, row)))


def _is(table: Table, row: AlertRow) -> tuple[ColumnElement[bool], ...]:
    return (
        table.c.unit_id == row.unit_id,
        table.c.kind == row.kind,
        table.c.cause == row.cause,
    )


def hand_over(connection: Connection, row: AlertRow, depot: str) -> None:
    """Let another depot see to an alert: its reminders go on there, and none is told twice."""
    connection.execute(
        update(ALERTS)
        .where(
            ALERTS.c.unit_id == row.unit_id,
            ALERTS.c.kind == row.kind,
            ALERTS.c.cause == row.cause,
        )
        .values(depot=depot)
    )


@dataclass(frozen=True, slots=True)
class AlertKey:
    """Where a page of alerts ended: the next begins after it."""

    due_on: date
    unit_id: UUID
    kind: str
    cause: str


_ANSWER: Final = (
    ALERT_ANSWERS.c.answered_by,
    ALERT_ANSWERS.c.answered_at,
    ALERT_ANSWERS.c.reason,
    ALERT_ANSWERS.c.put_off_until,
)
IS_ANSWERED: Final = and_(
    ALERT_ANSWERS.c.unit_id == ALERTS.c.unit_id,
    ALERT_ANSWERS.c.kind == ALERTS.c.kind,
    ALERT_ANSWERS.c.cause == ALERTS.c.cause,
)
_PLACE: Final = (ALERTS.c.due_on, ALERTS.c.unit_id, ALERTS.c.kind, ALERTS.c.cause)


@dataclass(frozen=True, slots=True)
class AlertFilter:
    """Which open alerts to list; what is None filters nothing."""

    depot: str | None = None
    among: Collection[str] | None = None
    """Depots that whoever asks may see."""
    kind: str | None = None
    whose: Collection[tuple[str, str]] | None = None
    """Pairs of depot and role that they are for; the depot `*` is every depot."""
    answered: bool | None = None
    """Only those with an answer, or only those without."""


def list_open(
    connection: Connection,
    wanted: AlertFilter,
    *,
    after: AlertKey | None = None,
    size: int | None = None,
) -> list[dict[str, Any]]:
    """Return open alerts with the unit's mark and what was answered, the one due first first."""
    query = (
        select(ALERTS, RECORDS.c.mark, RECORDS.c.tag, *_ANSWER)
        .outerjoin(RECORDS, RECORDS.c.unit_id == ALERTS.c.unit_id)
        .outerjoin(ALERT_ANSWERS, IS_ANSWERED)
        .where(ALERTS.c.cleared_at.is_(None), *_conditions(wanted))
        .order_by(*_PLACE)
        .limit(size)
    )
    if after is not None:
        place = tuple_(after.due_on, after.unit_id, after.kind, after.cause)
        query = query.where(tuple_(*_PLACE) > place)
    return [dict(row) for row in connection.execute(query).mappings()]


def _conditions(wanted: AlertFilter) -> Iterator[ColumnElement[bool]]:
    if wanted.depot is not None:
        yield ALERTS.c.depot == wanted.depot
    if wanted.among is not None:
        yield ALERTS.c.depot.in_(list(wanted.among))
    if wanted.kind is not None:
        yield ALERTS.c.kind == wanted.kind
    if wanted.whose is not None:
        yield is_of(wanted.whose)
    if wanted.answered is not None:
        has_answer = ALERT_ANSWERS.c.answered_at.is_not(None)
        yield has_answer if wanted.answered else ~has_answer


def is_of(whose: Collection[tuple[str, str]]) -> ColumnElement[bool]:
    """Say of an alert whether it is for one of the roles, each at its depot or at `*`, all."""
    everywhere = sorted({role for depot, role in whose if depot == "*"})
    here = sorted(pair for pair in whose if pair[0] != "*")
    return or_(ALERTS.c.role.in_(everywhere), tuple_(ALERTS.c.depot, ALERTS.c.role).in_(here))


def is_unanswered() -> ColumnElement[bool]:
    """Say of an alert whether nobody has answered it."""
    return ~exists().where(IS_ANSWERED)
