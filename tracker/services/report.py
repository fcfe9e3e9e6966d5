"""Hand events in for somebody: what is theirs to report is accepted, the rest is turned away."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

import orjson

from schemas.events.base import Decision, Fact, Source
from schemas.verdicts import Receipt, Verdict
from shared.errors import HardstandError
from tracker.services import accept, permission, reading
from tracker.services.actor import Actor, Person
from tracker.services.context import Context
from tracker.services.reading import EventUnreadableError
from tracker.services.sight import may_see_event, sight_of
from tracker.store import intake
from tracker.store.engine import one_moment

_OF_PEOPLE = (Source.PAGE.value, Source.PHONE.value)


class EventUnknownError(HardstandError):
    """No event is known by an id, or not to whoever asks; carries it."""

    def __init__(self, event_id: UUID) -> None:
        self.event_id = event_id
        super().__init__(
            f"No event is known by the id {event_id}",
            expected="the id of an event that was handed in",
            remedy="Hand the event in again; if it was known, nothing happens twice",
        )


def report(
    context: Context, actor: Actor, bodies: Sequence[bytes], *, gives_back: bool = False
) -> list[Receipt]:
    """Take events in for whoever reports them, and give one receipt each, in the same order.

    A person's events carry the person's name, whatever they say; a machine's are taken as they
    are. An event that is not the actor's to report is answered as `rejected` and not kept.

    Args:
        context: The process's means.
        actor: Who hands them in.
        bodies: The events as JSON.
        gives_back: What cannot be read is answered as `rejected`, too, with what is wrong, for a
            sender who keeps it and puts it right; else it is kept as it came, as `held`.

    Raises:
        TooManyEventsError: more than `accept.MOST_AT_ONCE`; nothing was taken.
    """
    if len(bodies) > accept.MOST_AT_ONCE:
        raise accept.TooManyEventsError(len(bodies))
    if isinstance(actor, Person):
        bodies = [_signed(body, actor) for body in bodies]
    read = [_read(body) for body in bodies]
    refusals = _find_refusals(context, actor, read)
    if gives_back:
        refusals = [
            _given_back(one) if isinstance(one, EventUnreadableError) else said
            for one, said in zip(read, refusals, strict=True)
        ]
    allowed = [body for body, said in zip(bodies, refusals, strict=True) if said is None]
    receipts = iter(accept.accept(context, allowed) if allowed else ())
    return [next(receipts) if said is None else said for said in refusals]


def _find_refusals(
    context: Context, actor: Actor, events: Sequence[Fact | Decision | EventUnreadableError]
) -> list[Receipt | None]:
    """Return the receipt of each event that is turned away, None where it may be taken."""
    readable = [event for event in events if not isinstance(event, EventUnreadableError)]
    with context.engine.begin() as connection:
        said = iter(permission.find_refusals(connection, actor, readable))
    return [
        None
        if isinstance(event, EventUnreadableError) or (error := next(said)) is None
        else Receipt(id=event.id, state="rejected", accepted=False, error=error)
        for event in events
    ]


def find_receipt(context: Context, actor: Actor, event_id: UUID) -> Receipt:
    """Return what is known of an event: that it waits, or its verdict.

    Raises:
        EventUnknownError: there is no such event, or it is not for the actor to see.
    """
    with one_moment(context.engine) as connection:
        known = intake.find_known(connection, [event_id]).get(event_id)
        if known is None:
            error = intake.find_unreadable(connection, event_id)
            if error is None:
                raise EventUnknownError(event_id)
            verdict = Verdict.model_validate({"id": event_id, "verdict": "held"}, strict=False)
            return Receipt(
                id=event_id, state="held", accepted=True, again=True, error=error, verdict=verdict
            )
        if not may_see_event(connection, sight_of(actor), known):
            raise EventUnknownError(event_id)
    return Receipt.model_validate(
        {
            "id": event_id,
            "state": known.outcome,
            "accepted": True,
            "again": True,
            "verdict": accept.verdict_of(known),
        }
    )


def _signed(body: bytes, person: Person) -> bytes:
    """Return an event with the person as its reporter; what is no JSON object stays as it is."""
    try:
        said = orjson.loads(body)
    except orjson.JSONDecodeError:
        return body
    if not isinstance(said, dict):
        return body
    said["reported_by"] = person.shown_as
    if said.get("source") not in _OF_PEOPLE:
        said["source"] = Source.PAGE.value
    try:
        return orjson.dumps(said)
    except orjson.JSONEncodeError:
        return body  # nested deeper than the reader of events goes: it will say so


def _given_back(fault: EventUnreadableError) -> Receipt:
    return Receipt(
        id=None, state="rejected", accepted=False, error=fault.wrong, faults=fault.faults
    )


def _read(body: bytes) -> Fact | Decision | EventUnreadableError:
    try:
        return reading.read_event(body)
    except EventUnreadableError as fault:
        return fault
