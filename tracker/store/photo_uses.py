"""Which recorded events name a photo, and who sent it: what seeing it depends on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final
from uuid import UUID

from sqlalchemy import Connection, select
from sqlalchemy.dialects.postgresql import insert

from tracker.store.history import Line
from tracker.store.tables import PHOTO_SENDERS, PHOTO_USES

_DIGEST: Final = re.compile('"([0-9a-f]{64})"')
_NAMES_ONE: Final = ('"photos":["', '"photo":"', '"signature":"')
"""One of these stands in every event that names a photo; most name none."""


def note(connection: Connection, lines: Iterable[Line]) -> None:
    """Note the photos that new lines of histories name."""
    named = {
        (bytes.fromhex(digest), line.event_id)
        for line in lines
        if any(name in line.body for name in _NAMES_ONE)
        for digest in _DIGEST.findall(line.body)
    }
    if named:
        rows = [{"digest": digest, "event_id": UUID(event)} for digest, event in sorted(named)]
        connection.execute(insert(PHOTO_USES).on_conflict_do_nothing(), rows)


def events_of(connection: Connection, digest: str) -> list[UUID]:
    """Return the recorded events that name a photo."""
    query = select(PHOTO_USES.c.event_id).where(PHOTO_USES.c.digest == bytes.fromhex(digest))
    return list(connection.execute(query).scalars())


def note_sender(connection: Connection, digest: str, sender_id: UUID) -> None:
    """Note who sent a photo; there may be several."""
    values = {"digest": bytes.fromhex(digest), "sender_id": sender_id}
    connection.execute(insert(PHOTO_SENDERS).on_conflict_do_nothing(), values)


def was_sent_by(connection: Connection, digest: str, sender_id: UUID) -> bool:
    """Say whether somebody sent a photo."""
    query = select(PHOTO_SENDERS.c.digest).where(
        PHOTO_SENDERS.c.digest == bytes.fromhex(digest), PHOTO_SENDERS.c.sender_id == sender_id
    )
    return connection.execute(query).first() is not None
