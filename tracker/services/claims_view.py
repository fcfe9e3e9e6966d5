"""Show the open claims of one unit: who is to have notice, until when, and what told of each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date
from typing import Any
from uuid import UUID

import orjson

from tracker.services.context import Context
from tracker.services.sight import Sight, is_here
from tracker.services.unit_view import UnitUnknownError, find_unit
from tracker.store import house, people, records
from tracker.store.engine import one_moment


@dataclass(frozen=True, slots=True)
class OpenClaim:
    """A claim that is not closed, as the record keeps it."""

    id: str
    told_by: str
    """The event that opened it, by its id: the arrival, or an inspection."""
    says: str
    responsible: str | None
    notice_by: str | None
    notice_given_on: str | None
    is_late: bool
    """Its last day for notice has passed, and none was given."""


@dataclass(frozen=True, slots=True)
class UnitClaims:
    """The open claims of a unit, in the order in which they were found, people named."""

    unit_id: UUID
    record: dict[str, Any]
    claims: tuple[OpenClaim, ...]
    today: date
    """At the unit's depot."""

    @property
    def name(self) -> str:
        """Return what the unit is called."""
        return self.record["mark"] or self.record["tag"] or str(self.unit_id)


def show_claims(context: Context, sight: Sight, name: str) -> UnitClaims:
    """Return the open claims of a unit that is at one of their depots, or left from there last.

    Raises:
        UnitUnknownError: there is no such unit, or it is not at a depot of theirs.
    """
    with one_moment(context.engine) as connection:
        unit_id = find_unit(connection, name)
        if not is_here(connection, sight, unit_id):
            raise UnitUnknownError(name)
        record = records.load(connection, [unit_id])[unit_id]
        zone = house.zones(connection).get(record.depot or "", UTC)
        shown = people.reveal(connection, orjson.loads(orjson.dumps(record)))
    today = context.clock.now().astimezone(zone).date()
    claims = tuple(_claim(one, today) for one in shown["claims"])
    return UnitClaims(unit_id, shown, claims, today)


def _claim(kept: dict[str, Any], today: date) -> OpenClaim:
    by, given_on = kept["notice_by"], kept["notice_given_on"]
    return OpenClaim(
        id=kept["id"],
        # That of a damage is its inspection's, and which of the damages it was.
        told_by=kept["id"].partition("/")[0],
        says=kept["says"],
        responsible=kept["responsible"],
        notice_by=by,
        notice_given_on=given_on,
        is_late=by is not None and given_on is None and date.fromisoformat(by) < today,
    )
