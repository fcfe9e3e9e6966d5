"""Take events in: durable before the receipt, each standing alone, the same one only once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID, uuid5

import structlog
from sqlalchemy import Connection

from schemas.events.base import Decision, Fact
from schemas.findings import Finding
from schemas.verdicts import Outcome, Receipt, Verdict
from shared.errors import HardstandError
from tracker.services import gathering, reading
from tracker.services.context import Context
from tracker.services.reading import EventUnreadableError
from tracker.store import intake
from tracker.store.intake import KnownEvent, Parcel

log = structlog.get_logger()

MOST_AT_ONCE: Final = 1000
_MOST_NAMED: Final = 20

_UNREADABLE: Final = UUID("5f0c9a3e-7f57-5d0e-8f3a-1f0d9a6b2c77")


class TooManyEventsError(HardstandError):
    """More events were handed in at once than are taken; carries how many."""

    def __init__(self, count: int) -> None:
        self.count = count
        super().__init__(
            f"{count} events at once are too many",
            expected=f"at most {MOST_AT_ONCE}",
            remedy="Hand them in in several lists; each event stands alone",
        )


@dataclass(frozen=True, slots=True)
class _Read:
    event: Fact | Decision
    text: str
    digest: bytes


def accept(context: Context, bodies: Sequence[bytes], *, bulk: bool = False) -> list[Receipt]:
    """Take events in, in one transaction, and give one receipt each, in the same order.

    What cannot be read is kept as it came and answered as `held`, with the field that is wrong.
    The lanes of new events are announced after the commit; that may fail, the sweep looks.

    Args:
        context: The means of the process.
        bodies: The events as JSON.
        bulk: They are of a long file. All files share one lane of their own, so that one worker
            at most is busy with them and whoever reports by hand never queues behind one.

    Raises:
        TooManyEventsError: more than `MOST_AT_ONCE`; nothing was taken.
    """
    if len(bodies) > MOST_AT_ONCE:
        raise TooManyEventsError(len(bodies))
    read = [_read(context, body) for body in bodies]
    readable = [one for one in read if isinstance(one, _Read)]
    with context.engine.begin() as connection:
        received_at = context.clock.now()
        parcels = _first_of_each(_parcels(connection, context, readable, bulk=bulk))
        new = intake.accept(connection, parcels, received_at) if parcels else set()
        known = _known(connection, parcels, new)
        receipts = _answer_all(connection, bodies, read, new, known)
    _log(receipts, len(new), received_at)
    context.announcer.announce(sorted({one.lane for one in parcels if one.event_id in new}))
    return receipts


def _log(receipts: Sequence[Receipt], new: int, received_at: datetime) -> None:
    """Name the events, or of a long list how many; all in `receipts` came at the moment told."""
    named = [str(receipt.id) for receipt in receipts[:_MOST_NAMED]]
    log.info(
        "events.accepted", events=named, count=len(receipts), new=new, at=received_at.isoformat()
    )


def _read(context: Context, body: bytes) -> _Read | EventUnreadableError:
    try:
        event = reading.read_event(body)
    except EventUnreadableError as fault:
        return fault
    text = reading.canonical(event)
    return _Read(event, text, reading.digest_of(context.secret, text))


def _parcels(
    connection: Connection, context: Context, read: Sequence[_Read], *, bulk: bool
) -> list[Parcel]:
    events = [one.event for one in read]
    places = gathering.places_of(connection, context.settings, events, bulk=bulk)
    return [
        Parcel(one.event.id, place.subject, place.lane, one.digest, one.text)
        for one, place in zip(read, places, strict=True)
    ]


def _first_of_each(parcels: Iterable[Parcel]) -> list[Parcel]:
    """Keep the first of those that share an id; the others are compared with it afterwards."""
    first: dict[UUID, Parcel] = {}
    for parcel in parcels:
        first.setdefault(parcel.event_id, parcel)
    return list(first.values())


def _known(
    connection: Connection, parcels: Sequence[Parcel], new: set[UUID]
) -> dict[UUID, KnownEvent]:
    """Return what is known of each event; those that are new wait, and nothing else is known."""
    waiting = {
        one.event_id: KnownEvent(one.event_id, one.digest, "waiting")
        for one in parcels
        if one.event_id in new
    }
    before = [one.event_id for one in parcels if one.event_id not in new]
    return waiting | intake.find_known(connection, before)


def _answer_all(
    connection: Connection,
    bodies: Sequence[bytes],
    read: Sequence[_Read | EventUnreadableError],
    new: set[UUID],
    known: dict[UUID, KnownEvent],
) -> list[Receipt]:
    receipts, told = [], set(new)
    for body, one in zip(bodies, read, strict=True):
        if isinstance(one, EventUnreadableError):
            receipts.append(_keep_unreadable(connection, body, one))
            continue
        event_id = one.event.id
        again = event_id not in told
        told.discard(event_id)
        receipts.append(_answer(one, known[event_id], again=again))
    return receipts


def _answer(read: _Read, known: KnownEvent, *, again: bool) -> Receipt:
    if known.digest != read.digest:
        return Receipt(
            id=known.event_id,
            state="conflict",
            accepted=False,
            again=True,
            error="The id is taken by an event with other content. Expected the same content, or "
            "an id of its own. Send it with a new id, or send a correction.",
        )
    verdict = verdict_of(known)
    state: Any = known.outcome
    return Receipt(id=known.event_id, state=state, accepted=True, again=again, verdict=verdict)


def _keep_unreadable(connection: Connection, body: bytes, fault: EventUnreadableError) -> Receipt:
    kept_as = uuid5(_UNREADABLE, body.hex())
    is_new = intake.keep_unreadable(connection, kept_as, body, fault.wrong)
    return Receipt(
        id=kept_as,
        state="held",
        accepted=True,
        again=not is_new,
        error=str(fault),
        verdict=Verdict(id=kept_as, verdict=Outcome.HELD),
    )


def verdict_of(known: KnownEvent) -> Verdict | None:
    """Return the verdict in what is known of an event, None while it waits."""
    if known.outcome == "waiting":
        return None
    return Verdict(
        id=known.event_id,
        verdict=Outcome(known.outcome),
        findings=tuple(map(Finding.model_validate, known.findings or ())),
        unit=known.stream_id,
        seq=known.seq,
    )
