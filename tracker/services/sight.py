"""What somebody may see: the units of their depots, and of others what happened until they left.

The one place that knows. A unit's history goes with it to the next depot; the depot it left sees it
as it was when it left. Whoever has a role at every depot sees everything. What may not be seen is
answered as if it were not there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection

from tracker.judge.fold import last_moment_at
from tracker.services import may_leave as leaving
from tracker.services.actor import EVERY_DEPOT, Actor
from tracker.services.context import Context
from tracker.services.may_leave import Leave
from tracker.services.stream import entry_of
from tracker.services.unit_view import UnitUnknownError, UnitView, find_unit, show_unit
from tracker.store import alerts, history, intake, orders, people, queries, records
from tracker.store.alerts import AlertFilter, AlertKey
from tracker.store.intake import KnownEvent
from tracker.store.queries import QuestionKey, StockFilter, StockKey


@dataclass(frozen=True, slots=True)
class Sight:
    """The depots somebody sees; None means all of them."""

    depots: frozenset[str] | None

    def reaches(self, depot: str | None) -> bool:
        """Say whether what belongs to this depot may be seen; what belongs to none needs all."""
        return self.depots is None or depot in self.depots


def sight_of(actor: Actor) -> Sight:
    """Return what a person or a machine may see."""
    return Sight(None if EVERY_DEPOT in actor.depots else actor.depots)


def show(
    context: Context,
    sight: Sight,
    name: str,
    *,
    as_of: datetime | None = None,
    known_at: datetime | None = None,
) -> UnitView:
    """Return one unit as far as it may be seen.

    Raises:
        UnitUnknownError: there is no such unit, or it was never at a depot of theirs.
    """
    if sight.depots is None:
        return show_unit(context, name, as_of=as_of, known_at=known_at)
    view = show_unit(context, name)
    if sight.reaches(view.record["depot"]):
        if as_of is None and known_at is None:
            return view
        return show_unit(context, name, as_of=as_of, known_at=known_at)
    until = _last_here(context, sight.depots, view.unit_id)
    if until is None:
        raise UnitUnknownError(name)
    asked = until if as_of is None else min(as_of, until)
    return _cut(show_unit(context, name, as_of=asked, known_at=known_at), sight, until)


def may_leave(
    context: Context,
    sight: Sight,
    name: str,
    *,
    reference: str | None = None,
    haulier: str | None = None,
) -> Leave:
    """Say whether a unit at one of their depots may leave.

    Raises:
        UnitUnknownError: there is no such unit, or it is not at a depot of theirs.
    """
    with context.engine.begin() as connection:
        unit_id = find_unit(connection, name)
        if not is_here(connection, sight, unit_id):
            raise UnitUnknownError(name)
    return leaving.may_leave(context, str(unit_id), reference=reference, haulier=haulier)


def list_stock(
    context: Context,
    sight: Sight,
    wanted: StockFilter,
    *,
    after: StockKey | None = None,
    size: int = 100,
) -> list[dict[str, Any]]:
    """Return a page of the units at their depots, by mark."""
    with context.engine.begin() as connection:
        seen = replace(wanted, among=sight.depots, at=context.clock.now())
        return queries.list_stock(connection, seen, after=after, size=size)


def list_questions(
    context: Context,
    sight: Sight,
    *,
    depot: str | None = None,
    after: QuestionKey | None = None,
    size: int = 500,
) -> list[dict[str, Any]]:
    """Return the oldest open questions about units at their depots, people in them named."""
    with context.engine.begin() as connection:
        found = queries.list_questions(connection, depot, size, among=sight.depots, after=after)
        told: list[dict[str, Any]] = people.reveal(connection, found)
        return told


def find_question(context: Context, sight: Sight, question_id: UUID) -> dict[str, Any] | None:
    """Return an open question about a unit at a depot of theirs; None when there is none."""
    with context.engine.begin() as connection:
        found = queries.find_question(connection, question_id)
        if found is None or not sight.reaches(found["depot"]):
            return None
        told: dict[str, Any] = people.reveal(connection, found)
        return told


def list_alerts(
    context: Context,
    sight: Sight,
    wanted: AlertFilter,
    *,
    after: AlertKey | None = None,
    size: int | None = None,
) -> list[dict[str, Any]]:
    """Return the open alerts of their depots, the soonest due first; without a size, all."""
    with context.engine.begin() as connection:
        seen = replace(wanted, among=sight.depots)
        return alerts.list_open(connection, seen, after=after, size=size)


def is_here(connection: Connection, sight: Sight, unit_id: UUID) -> bool:
    """Say whether a unit is at one of their depots now, expected there, or left there last."""
    depots = records.depots_of(connection, [unit_id])
    return unit_id in depots and sight.reaches(depots[unit_id])


def may_see_event(connection: Connection, sight: Sight, known: KnownEvent) -> bool:
    """Say whether the verdict on an event may be seen.

    It may when the event was reported by a depot of theirs, or its unit is at one now, or its order
    is one of theirs. A decision that was refused because there is no such unit tells
    nothing, and may be seen by anybody.
    """
    if sight.depots is None:
        return True
    if known.stream_id is None:
        return known.outcome == "refused" or sight.reaches(
            intake.find_depot(connection, known.event_id)
        )
    if is_here(connection, sight, known.stream_id):
        return True
    ordered_at = orders.depots_of(connection, [known.stream_id]).get(known.stream_id)
    if ordered_at is not None and sight.reaches(ordered_at):
        return True
    recorded = history.find_recorded(connection, [known.event_id]).get(known.event_id)
    return recorded is not None and sight.reaches(recorded.depot)


def _last_here(context: Context, depots: frozenset[str], unit_id: UUID) -> datetime | None:
    """Return the last moment at which a depot of theirs had the unit."""
    with context.engine.begin() as connection:
        rows = history.load(connection, [unit_id])[unit_id]
    last = last_moment_at(map(entry_of, rows), depots)
    return None if last is None else datetime.fromisoformat(last)


def _cut(view: UnitView, sight: Sight, until: datetime) -> UnitView:
    """Leave out what came after the unit had left, alerts of today and waiting events too."""
    rows = [
        row
        for row in view.history
        if sight.reaches(row["depot"]) or datetime.fromisoformat(row["effective_at"]) <= until
    ]
    # The record counts all events that there are, whatever moment it is folded up to.
    record = view.record | {"alerts": [], "events": len(rows)}
    return replace(view, record=record, history=rows, apart=[])
