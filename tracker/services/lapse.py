"""Let reservations lapse whose moment has come: by a cancellation, handed in like any other."""

from __future__ import annotations

from typing import Final
from uuid import UUID, uuid5

import orjson
import structlog

from schemas.events.base import Source
from schemas.records import Record
from tracker.services import accept
from tracker.services.context import Context
from tracker.store import due_records, records

log = structlog.get_logger()

BY: Final = "round"
_LAPSES: Final = UUID("3c0b5c0e-7a1d-5b6c-9a53-0b1d2f7c4e19")


def lapse_reservations(context: Context) -> int:
    """Hand in a cancellation for each reservation that has ended; return how many are new.

    A cancellation's id is made of the reservation's, so that however often it is handed in, it is
    recorded once; one that was renewed meanwhile is judged by the record as it then stands.
    """
    now = context.clock.now()
    with context.engine.begin() as connection:
        ended = due_records.reserved_until(connection, now, accept.MOST_AT_ONCE)
        found = records.load(connection, ended).values()
    bodies = [body for record in found if (body := _cancellation(record)) is not None]
    if not bodies:
        return 0
    receipts = accept.accept(context, bodies)
    new = sum(not receipt.again for receipt in receipts)
    log.info("reservations.lapsed", handed_in=len(bodies), new=new)
    return new


def _cancellation(record: Record) -> bytes | None:
    kept = record.reservation
    if kept is None or record.depot is None:
        return None
    return orjson.dumps(
        {
            "kind": "cancellation",
            "id": str(uuid5(_LAPSES, kept.id)),
            "depot": record.depot,
            "mark": record.mark,
            "tag": record.tag if record.mark is None else None,
            "happened_at": kept.until,
            "reported_by": BY,
            "source": Source.ROUND.value,
            "cancels": kept.id,
            "reason": "The reservation ended.",
        }
    )
