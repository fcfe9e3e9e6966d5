"""Choose where each event of a list waits: in one lane with what it names.

A lane is judged in order, lanes are not: what names another event by its id must go by the lane
of that event, or it may be judged first and refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection

from schemas.events.base import Event
from schemas.events.deal import Release
from shared.settings import Settings
from tracker.judge.subject import leans_on, reference_of, subject_of, subjects_of
from tracker.store import intake
from tracker.store.intake import Gathered
from tracker.store.lanes import lane_of, lane_of_files


class Place(NamedTuple):
    """Where an event waits: by which subject, in which lane."""

    subject: str
    lane: int


def places_of(
    connection: Connection, settings: Settings, events: Sequence[Event], *, bulk: bool
) -> list[Place]:
    """Return a place for each event, in the same order.

    What is named is looked for among what waits, then in the same list, then in the histories; by
    one statement, and by none where no event of the list names another.
    """
    leaning = [leans_on(event) for event in events]
    gathered = _look_up(connection, leaning)
    leans = any(leaning)
    here: dict[UUID | str, Place] = {}
    places = []
    for event, name in zip(events, leaning, strict=True):
        place = _follow(event, name, gathered, here) if leans else None
        if place is None:
            place = _place(settings, _subject(event, name, gathered), bulk=bulk)
        if leans:
            here.setdefault(event.id, place)
            if event.kind == "release" and (given := reference_of(event)) is not None:
                here.setdefault(given, place)
        places.append(place)
    return places


def _place(settings: Settings, subject: str, *, bulk: bool) -> Place:
    lanes = settings.lanes
    lane = lane_of_files(lanes) if bulk else lane_of(subject, settings.lane_buckets, lanes)
    return Place(subject, lane)


def _look_up(connection: Connection, leaning: Sequence[UUID | str | None]) -> dict[str, Gathered]:
    ids = {name for name in leaning if isinstance(name, UUID)}
    references = {name for name in leaning if isinstance(name, str)}
    return intake.find_gathered(connection, ids, references) if ids or references else {}


def _follow(
    event: Event,
    name: UUID | str | None,
    gathered: Mapping[str, Gathered],
    here: Mapping[UUID | str, Place],
) -> Place | None:
    """Return the place of what an event names, if that waits or stands earlier in the list.

    A clearance goes with its unit, unless its reference was given in the same list.
    """
    if name is None:
        return here.get(reference_of(event) or "")
    found = gathered.get(str(name))
    if found is not None and found.lane is not None:
        return Place(found.subject, found.lane)
    return here.get(name)


def _subject(event: Event, name: UUID | str | None, gathered: Mapping[str, Gathered]) -> str:
    """Return what gathers an event: its unit's name, its own or that of what it settles."""
    found = gathered.get(str(name)) if name is not None else None
    if found is None or (isinstance(event, Release) and subjects_of(event)):
        return subject_of(event)
    return found.subject
