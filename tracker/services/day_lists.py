"""What a depot's day holds for its gate and its workshop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date
from typing import Any

from sqlalchemy import Connection

from tracker.services.context import Context
from tracker.store import day_lists, house


@dataclass(frozen=True, slots=True)
class DayList:
    """The records of a list's units as JSON, and which day it is at the depot."""

    today: date
    units: tuple[dict[str, Any], ...]


def list_expected(context: Context, depot: str, *, size: int = 60) -> DayList:
    """Return units that are expected at a depot: those with a day first, the soonest first."""
    with context.engine.begin() as connection:
        found = day_lists.list_expected(connection, depot, size)
        return DayList(_today(context, connection, depot), tuple(found))


def list_with_work(context: Context, depot: str, *, size: int = 60) -> DayList:
    """Return units at a depot with orders, damage, paint or weighing open, the soonest first."""
    with context.engine.begin() as connection:
        found = day_lists.list_with_work(connection, depot, size)
        return DayList(_today(context, connection, depot), tuple(found))


def day_at(context: Context, depot: str) -> date:
    """Return which day it is at a depot."""
    with context.engine.begin() as connection:
        return _today(context, connection, depot)


def _today(context: Context, connection: Connection, depot: str) -> date:
    return context.clock.now().astimezone(house.zones(connection).get(depot, UTC)).date()
