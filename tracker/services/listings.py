"""What stands open and what there is, each list read in one moment's view."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from datetime import UTC, tzinfo
from typing import Any

from tracker.services.context import Context
from tracker.store import alerts, house, intake, people, queries, unreadable, work_items
from tracker.store.alerts import AlertFilter
from tracker.store.queries import StockFilter

_ALL = 1_000_000


def every_unit(context: Context, wanted: StockFilter) -> Generator[dict[str, Any], None, None]:
    """Walk the units that a filter lets through, by mark; the transaction lasts as long."""
    seen = replace(wanted, at=context.clock.now())
    with context.engine.begin() as connection:
        yield from queries.every_unit(
            lambda after, size: queries.list_stock(connection, seen, after=after, size=size)
        )


def open_questions(context: Context, depot: str | None = None) -> list[dict[str, Any]]:
    """Return the open questions, the oldest first, people in them named."""
    with context.engine.begin() as connection:
        asked: list[dict[str, Any]] = people.reveal(
            connection, queries.list_questions(connection, depot, _ALL)
        )
        return asked


def open_alerts(context: Context, depot: str | None = None) -> list[dict[str, Any]]:
    """Return the open alerts with the mark of their unit, the soonest due first."""
    with context.engine.begin() as connection:
        return alerts.list_open(connection, AlertFilter(depot))


def held_events(context: Context) -> list[dict[str, Any]]:
    """Return what waits for an operator: held events, then what could not be read."""
    with context.engine.begin() as connection:
        held = [{**row, "readable": True} for row in intake.list_held(connection)]
        unread = [{**row, "readable": False} for row in unreadable.list_all(connection)]
        return held + unread


def depots(context: Context) -> list[dict[str, Any]]:
    """Return all depots by code."""
    with context.engine.begin() as connection:
        return house.list_depots(connection)


def zone_of(context: Context, depot: str) -> tzinfo:
    """Return the zone that a depot's days are reckoned in; UTC where the depot is not known."""
    with context.engine.begin() as connection:
        return house.zones(connection).get(depot, UTC)


def zones(context: Context) -> dict[str, tzinfo]:
    """Return each depot's zone."""
    with context.engine.begin() as connection:
        return dict(house.zones(connection))


def zone_names(context: Context) -> dict[str, str]:
    """Return the name of each depot's zone."""
    return {depot["code"]: depot["zone"] for depot in depots(context)}


def work_names(context: Context) -> list[str]:
    """Return the work that the house does, by name."""
    with context.engine.begin() as connection:
        return sorted(work_items.catalogue(connection))


def contacts(context: Context) -> list[dict[str, Any]]:
    """Return who gets which mail."""
    with context.engine.begin() as connection:
        return house.list_contacts(connection)
