"""Raise alerts for what finished stock checks did not find."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, tzinfo
from itertools import islice
from typing import Any, Final

from sqlalchemy import Connection

from shared.due_schedule import schedules
from tracker.judge import due
from tracker.store import alerts, stock_checks
from tracker.store.alerts import AlertRow
from tracker.store.stock_checks import StockCheck

_AT_ONCE: Final = 2000


def raise_unseen(connection: Connection, depot: str, zone: tzinfo, today: date) -> int:
    """Raise an alert per unit that a finished check of the depot missed; return how many."""
    raised = 0
    for check in stock_checks.list_to_tell(connection, depot):
        for lot in _lots(stock_checks.every_unseen(connection, check), check, zone, today):
            alerts.raise_all(connection, lot)
            raised += len(lot)
        stock_checks.mark_told(connection, check.id, today)
    return raised


def _lots(
    rows: Iterator[Any], check: StockCheck, zone: tzinfo, today: date
) -> Iterator[list[AlertRow]]:
    while lot := [_row(one, check, zone, today) for one in islice(rows, _AT_ONCE)]:
        yield lot


def _row(row: Any, check: StockCheck, zone: tzinfo, today: date) -> AlertRow:  # noqa: ANN401 - a database row
    begun_on = check.begun_at.astimezone(zone).date()
    finished = check.finished_at or check.begun_at
    slot = f" It should stand in {row.slot}." if row.slot else ""
    says = f"The stock check begun on {begun_on} did not find it.{slot} {_last_seen(row, zone)}"
    return AlertRow(
        unit_id=row.unit_id,
        kind=due.NOT_SEEN,
        cause=due.unseen_cause(check.id, check.begun_text),
        depot=check.depot,
        role=schedules()[due.NOT_SEEN].role,
        due_on=finished.astimezone(zone).date(),
        says=says,
        raised_on=today,
        next_on=today,
    )


def _last_seen(row: Any, zone: tzinfo) -> str:  # noqa: ANN401 - a database row
    if row.last_seen_at is None:
        return "Nobody has seen it here."
    seen = datetime.fromisoformat(row.last_seen_at).astimezone(zone).date()
    return f"It was last seen on {seen}."
