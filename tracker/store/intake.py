"""What was handed in and not yet judged. A committed row here is the promise of the receipt."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from sqlalchemy import Connection, Text, cast, func, literal, or_, select, update
from sqlalchemy.dialects.postgresql import insert as upsert

from tracker.store import lanes, statements
from tracker.store.history import Recorded
from tracker.store.tables import INTAKE, UNREADABLE


@dataclass(frozen=True, slots=True)
class Parcel:
    """One event as it is handed in: its id, what names its stream, its digest and its text."""

    event_id: UUID
    subject: str
    lane: int
    digest: bytes
    body: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """One event as it is claimed."""

    position: int
    event_id: UUID
    subject: str
    digest: bytes
    body: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class KnownEvent:
    """What is known of an event handed in before."""

    event_id: UUID
    digest: bytes
    outcome: str
    stream_id: UUID | None = None
    seq: int | None = None
    findings: list[dict[str, Any]] | None = None


class Gathered(NamedTuple):
    """What the stream of something named is called, and the lane where it waits, if it does."""

    subject: str
    lane: int | None


def accept(connection: Connection, parcels: Sequence[Parcel], received_at: datetime) -> set[UUID]:
    """Insert parcels in one statement; return the ids that are new.

    May be called twice with the same parcels: those known already are left as they are.
    """
    found = statements.rows(
        connection,
        "insert_intake",
        event_ids=[parcel.event_id for parcel in parcels],
        subjects=[parcel.subject for parcel in parcels],
        lanes=[parcel.lane for parcel in parcels],
        digests=[parcel.digest for parcel in parcels],
        bodies=[parcel.body for parcel in parcels],
        received_at=received_at,
    )
    return {row.event_id for row in found}


def find_known(connection: Connection, event_ids: Collection[UUID]) -> dict[UUID, KnownEvent]:
    """Return what is known of each event: its verdict, or that it waits."""
    if not event_ids:
        return {}
    found = statements.rows(connection, "find_known", event_ids=list(event_ids))
    known: dict[UUID, KnownEvent] = {}
    for row in found:
        # A held event has a receipt and an intake row; the receipt, first, says more.
        known.setdefault(row.event_id, KnownEvent(*row))
    return known


def find_gathered(
    connection: Connection, ids: Collection[UUID], references: Collection[str]
) -> dict[str, Gathered]:
    """Return by what events, questions and references are gathered, of those that are known."""
    found = statements.rows(connection, "find_gathered", ids=list(ids), references=list(references))
    return {row.name: Gathered(row.subject, row.lane) for row in found}


def claim(connection: Connection, lane: int, size: int) -> list[Waiting]:
    """Return the first `size` waiting events of a lane; the caller holds the lane's lock."""
    return [
        Waiting(*row) for row in statements.rows(connection, "claim_lane", lane=lane, size=size)
    ]


def find_waiting(connection: Connection, event_id: UUID) -> Waiting | None:
    """Lock and return one waiting event, None when it has its verdict."""
    columns = [
        cast(INTAKE.c.body, Text) if name == "body" else INTAKE.c[name]
        for name in Waiting.__slots__
    ]
    row = connection.execute(
        select(*columns)
        .where(INTAKE.c.event_id == event_id, INTAKE.c.state == "waiting")
        .with_for_update()
    ).one_or_none()
    return None if row is None else Waiting(*row)


def remove(connection: Connection, positions: Collection[int]) -> None:
    """Remove events that have their verdict."""
    connection.exec_driver_sql(
        "DELETE FROM intake WHERE position = ANY(%s::bigint[])", (list(positions),)
    )


def hold(connection: Connection, position: int, error: str) -> bool:
    """Set a waiting event aside, with why; it stays until an operator lets it go again.

    Returns:
        False when it does not wait any more: held already, or judged after all.
    """
    found = connection.execute(
        update(INTAKE)
        .where(INTAKE.c.position == position, INTAKE.c.state == "waiting")
        .values(state="held", error=error.replace("\x00", ""))
    )
    return found.rowcount == 1


def let_go(connection: Connection, event_id: UUID) -> int | None:
    """Let a held event be judged again; return its lane, None when it is not held."""
    found = connection.execute(
        update(INTAKE)
        .where(INTAKE.c.event_id == event_id, INTAKE.c.state == "held")
        .values(state="waiting", error=None)
        .returning(INTAKE.c.lane)
    )
    return found.scalar()


def lanes_waiting(connection: Connection) -> list[int]:
    """Return the lanes that have work, in order."""
    return [row.lane for row in statements.rows(connection, "lanes_waiting")]


def count_waiting(connection: Connection) -> int:
    """Return how many events wait."""
    where = INTAKE.c.state == "waiting"
    return connection.execute(select(func.count()).where(where)).scalar_one()


def is_backlog_over(connection: Connection, most: int) -> bool:
    """Say whether more than `most` events wait; looks at no more rows than that."""
    beyond = select(INTAKE.c.position).where(INTAKE.c.state == "waiting").offset(most).limit(1)
    return connection.execute(beyond).first() is not None


def oldest_waiting(connection: Connection) -> datetime | None:
    """Return when the event was handed in that waits longest, None when nothing waits."""
    where = INTAKE.c.state == "waiting"
    return connection.execute(select(func.min(INTAKE.c.received_at)).where(where)).scalar()


def find_depot(connection: Connection, event_id: UUID) -> str | None:
    """Return the depot that reported an event which waits or is held, None for any other."""
    depot = INTAKE.c.body["depot"].as_string()
    return connection.execute(select(depot).where(INTAKE.c.event_id == event_id)).scalar()


def find_reported(connection: Connection, event_ids: Collection[UUID]) -> dict[UUID, Recorded]:
    """Return of which kind each event is that waits or is held, and which depot reported it."""
    if not event_ids:
        return {}
    kind, depot = (INTAKE.c.body[name].as_string() for name in ("kind", "depot"))
    asked = select(INTAKE.c.event_id, kind, depot).where(INTAKE.c.event_id.in_(list(event_ids)))
    return {row[0]: Recorded(row[1], row[2]) for row in connection.execute(asked)}


def list_apart(connection: Connection, unit_id: UUID) -> list[dict[str, Any]]:
    """Return the waiting and held events of a unit, by whatever it is called, oldest first."""
    return [row._asdict() for row in statements.rows(connection, "list_apart", unit_id=unit_id)]


def list_held(connection: Connection) -> list[dict[str, Any]]:
    """Return the events that wait for an operator, oldest first."""
    found = connection.execute(
        select(
            INTAKE.c.event_id,
            INTAKE.c.subject,
            INTAKE.c.received_at,
            INTAKE.c.error,
        )
        .where(INTAKE.c.state == "held")
        .order_by(INTAKE.c.position)
    )
    return [dict(row._mapping) for row in found]


def keep_unreadable(connection: Connection, unreadable_id: UUID, body: bytes, error: str) -> bool:
    """Keep what could not be read; return whether it is new."""
    found = connection.execute(
        upsert(UNREADABLE)
        .values(id=unreadable_id, body=body, error=error)
        .on_conflict_do_nothing()
        .returning(UNREADABLE.c.id)
    )
    return found.first() is not None


def find_unreadable(connection: Connection, unreadable_id: UUID) -> str | None:
    """Return why something handed in could not be read, None when there is no such thing."""
    found = connection.execute(select(UNREADABLE.c.error).where(UNREADABLE.c.id == unreadable_id))
    return found.scalar()


def forget(connection: Connection, value: str, instead: str) -> bool:
    """Write `instead` for a value in the events that wait or are held, and in why they are.

    Return whether it stood anywhere. The digest stays: who sends the same again is known again.
    """
    spelled = orjson.dumps(value).decode()[1:-1]
    holds = or_(
        cast(INTAKE.c.body, Text).contains(spelled, autoescape=True),
        INTAKE.c.error.contains(value, autoescape=True),
    )
    # A drain that has read an event already would bring the value back: wait until it is through.
    named = select(INTAKE.c.lane).where(holds).distinct().order_by(INTAKE.c.lane)
    for lane in connection.execute(named).scalars().all():
        lanes.lock(connection, lane)
    query = select(INTAKE.c.position, INTAKE.c.body, INTAKE.c.error).where(holds)
    was_there = False
    for row in connection.execute(query).all():
        body = _without(row.body, value, instead)
        error = row.error and row.error.replace(value, instead)
        if (body, error) != (row.body, row.error):
            was_there = True
            mine = INTAKE.c.position == row.position
            # Written as `accept` writes it, without escapes, so that it can be searched again.
            written = cast(literal(orjson.dumps(body).decode(), Text), INTAKE.c.body.type)
            connection.execute(update(INTAKE).where(mine).values(body=written, error=error))
    return was_there


def _without(said: Any, value: str, instead: str) -> Any:  # noqa: ANN401 - any JSON in, the same out
    if isinstance(said, str):
        return instead if said == value else said
    if isinstance(said, dict):
        return {name: _without(one, value, instead) for name, one in said.items()}
    if isinstance(said, list):
        return [_without(one, value, instead) for one in said]
    return said
