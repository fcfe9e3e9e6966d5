"""Who may report what: any fact by anybody at their depot, a decision by those whose it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import Connection

from schemas.events.base import Decision, Fact
from schemas.events.settling import Answer, Correction
from schemas.events.union import DECISIONS
from tracker.judge.fold import SETTLING
from tracker.judge.subject import order_of, subjects_of
from tracker.services.actor import Actor, Machine, Person, Role
from tracker.services.sight import Sight, sight_of
from tracker.store import history, intake, marks, orders, questions, receipts, records
from tracker.store.history import Recorded

_ALL: Final = frozenset(Role)
_DESK: Final = frozenset({Role.SALES, Role.MANAGER})

DECIDERS: Final[Mapping[str, frozenset[Role]]] = MappingProxyType(
    {
        "acquisition": _DESK,
        "work-order": _DESK | {Role.WORKSHOP},
        "hold": _ALL,
        "hold-cleared": frozenset({Role.WORKSHOP, Role.MANAGER}),
        "claim-closed": _DESK,
        "reservation": _DESK,
        "order": _DESK,
        "sale": _DESK,
        "release": _DESK,
        "payment": _DESK,
        "passing-on": _DESK,
        "cancellation": _DESK,
        "clearance": _DESK | {Role.GATE},
        "take-back": _DESK,
        "answer": _ALL,
        "correction": _ALL,
    }
)
"""Whose each decision is. One that is not listed is the manager's."""

_UNLISTED: Final = frozenset({Role.MANAGER})


_SIGNED: Final = frozenset({"reported_by", "source"})
"""What a person's event says by who is signed in, whatever its sender writes."""


class _Places(NamedTuple):
    """Where the units of some decisions are, by what the decisions name."""

    of_subject: dict[str, str | None]
    of_question: dict[UUID, str | None]
    of_event: dict[UUID, str | None]
    of_order: dict[UUID, str]
    reported: dict[UUID, Recorded]
    """What the corrected events are: recorded, waiting, or in the same list."""


def find_refusals(
    connection: Connection, actor: Actor, events: Iterable[Fact | Decision]
) -> list[str | None]:
    """Return of each event why it is not the actor's to report, None where it is.

    A decision about a unit is for the depot that has it; facts need no unit of one's own, since a
    box may turn up anywhere.
    """
    listed = list(events)
    sight = sight_of(actor)
    places = _find_places(connection, listed)
    return [_refusal(actor, sight, event, places) for event in listed]


def _refusal(actor: Actor, sight: Sight, event: Fact | Decision, places: _Places) -> str | None:
    if not sight.reaches(event.depot):
        return f"You have no role at {event.depot}. Report it from a depot of yours."
    if isinstance(event, Fact):
        return None
    if not _is_within_sight(sight, event, places):
        return "Its unit is at another depot. Ask there."
    if isinstance(event, Correction) and (said := _hinders_changes(actor, sight, event)):
        return said
    if _overrides(event) and not _is_manager(actor, event.depot):
        return "Only a manager overrides a refusal. Ask one, or leave the reason out."
    if isinstance(actor, Machine):
        return None
    deciders = _deciders(event, places)
    if actor.roles_at(event.depot).isdisjoint(deciders):
        whose = " or ".join(sorted(deciders))
        return f"A {event.kind} is for {whose} to decide. Ask one of them."
    return None


def _hinders_changes(actor: Actor, sight: Sight, event: Correction) -> str | None:
    """Say what the corrected event must not say, since its own sender could not have said it."""
    depot = event.changes.get("depot")
    if isinstance(depot, str) and not sight.reaches(depot):
        return f"You have no role at {depot}. Nothing is put right into a report from there."
    if isinstance(actor, Person) and not event.changes.keys().isdisjoint(_SIGNED):
        return "Who reported it, and by which way, stays. Withdraw it, and let them report it."
    return None


def _is_manager(actor: Actor, depot: str) -> bool:
    """Say whether it is a person who answers for the depot; whatever a key opens, it does not."""
    return isinstance(actor, Person) and Role.MANAGER in actor.roles_at(depot)


def _overrides(event: Decision) -> bool:
    return getattr(event, "override_reason", None) is not None


def _deciders(event: Decision, places: _Places) -> frozenset[Role]:
    """Return whose a decision is; a correction belongs to those whose the corrected event was."""
    if not isinstance(event, Correction):
        return DECIDERS.get(event.kind, _UNLISTED)
    corrected = places.reported.get(event.corrects)
    return _UNLISTED if corrected is None else correctors_of(corrected.kind)


def correctors_of(kind: str) -> frozenset[Role]:
    """Return who may correct an event of a kind: a fact anybody, a decision those whose it is.

    What settles another event is corrected by none; only a manager may ask, and is told so.
    """
    if kind in SETTLING:
        return _UNLISTED
    return DECIDERS.get(kind, _UNLISTED) if kind in DECISIONS else _ALL


def _is_within_sight(sight: Sight, event: Decision, places: _Places) -> bool:
    """Say whether the unit is theirs to decide about; an unknown one is for the judge to refuse."""
    match event:
        case Answer():
            at = (
                [places.of_question[event.question]] if event.question in places.of_question else []
            )
        case Correction():
            reported = places.reported.get(event.corrects)
            if reported is None or sight.reaches(reported.depot):
                return True
            at = [places.of_event.get(event.corrects)]
        case _:
            named = subjects_of(event)
            at = [places.of_subject[one] for one in named if one in places.of_subject]
            if (order := order_of(event)) in places.of_order:
                at.append(places.of_order[order])
    return all(map(sight.reaches, at))


def _find_places(connection: Connection, events: list[Fact | Decision]) -> _Places:
    decisions = [one for one in events if isinstance(one, Decision)]
    named = {subject for event in decisions for subject in subjects_of(event)}
    asked = {event.question for event in decisions if isinstance(event, Answer)}
    corrected = {event.corrects for event in decisions if isinstance(event, Correction)}
    ordered = {order for event in decisions if (order := order_of(event))}
    units = marks.resolve(connection, named) if named else {}
    streams = receipts.streams_of(connection, corrected | ordered)
    of_order = orders.depots_of(connection, {*ordered, *streams.values(), *units.values()})
    depots = records.depots_of(connection, {*units.values(), *streams.values()})
    return _Places(
        # A reference may mean an order.
        of_subject={
            one: depots.get(unit, of_order.get(unit))
            for one, unit in units.items()
            if unit in depots or unit in of_order
        },
        of_question=questions.depots_of(connection, asked),
        of_event={one: depots.get(unit) for one, unit in streams.items()},
        of_order={
            one: depot
            for one in ordered
            if (depot := of_order.get(one) or of_order.get(streams.get(one, one)))
        },
        reported=_find_reported(connection, events, corrected),
    )


def _find_reported(
    connection: Connection, events: list[Fact | Decision], ids: set[UUID]
) -> dict[UUID, Recorded]:
    """Return what each of some events is. What is kept of an id counts before what is sent now."""
    listed = {one.id: Recorded(one.kind, one.depot) for one in events if one.id in ids}
    waiting = intake.find_reported(connection, ids)
    return listed | waiting | history.find_recorded(connection, ids)
