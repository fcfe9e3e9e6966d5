"""The verdicts: one per event id, for ever. This key is what records an event only once."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from sqlalchemy import Connection, delete, select

from tracker.store import statements
from tracker.store.tables import MOVES, RECEIPTS


@dataclass(frozen=True, slots=True)
class ReceiptRow:
    """What became of one event. `findings` is JSON text, None when there are none."""

    event_id: UUID
    digest: bytes
    outcome: str
    stream_id: UUID | None
    seq: int | None
    findings: str | None
    received_at: datetime
    recorded_at: datetime


_COLUMNS = tuple(ReceiptRow.__slots__)


def write(connection: Connection, receipts: Iterable[ReceiptRow]) -> None:
    """Write new receipts; fails by name when one of the events has a verdict already."""
    statements.copy_rows(
        connection,
        "receipts",
        _COLUMNS,
        ([getattr(receipt, column) for column in _COLUMNS] for receipt in receipts),
    )


def findings_text(findings: list[dict[str, Any]]) -> str | None:
    """Write findings as a receipt keeps them."""
    return orjson.dumps(findings).decode() if findings else None


def which_have(connection: Connection, event_ids: Collection[UUID]) -> set[UUID]:
    """Return those of the events that have a verdict."""
    found = connection.exec_driver_sql(
        "SELECT event_id FROM receipts WHERE event_id = ANY(%s::uuid[])", (list(event_ids),)
    )
    return set(found.scalars())


def streams_of(connection: Connection, event_ids: Collection[UUID]) -> dict[UUID, UUID]:
    """Return the stream that each recorded event stands in now, moves followed."""
    if not event_ids:
        return {}
    found = connection.execute(
        select(RECEIPTS.c.event_id, RECEIPTS.c.stream_id).where(
            RECEIPTS.c.event_id.in_(list(event_ids)), RECEIPTS.c.outcome == "recorded"
        )
    )
    streams: dict[UUID, UUID] = dict(found.all())
    # Whoever moves an event holds the lock of the unit it stands with: positions are in order.
    moved = connection.execute(
        select(MOVES.c.event_id, MOVES.c.to_unit)
        .where(MOVES.c.event_id.in_(list(event_ids)))
        .order_by(MOVES.c.position)
    )
    for event_id, to_unit in moved:
        streams[event_id] = to_unit
    return streams


def withdraw_held(connection: Connection, event_id: UUID) -> None:
    """Take back the verdict `held`, so that the event can be judged again."""
    connection.execute(
        delete(RECEIPTS).where(RECEIPTS.c.event_id == event_id, RECEIPTS.c.outcome == "held")
    )
