"""Telling other processes over PostgreSQL that verdicts stand. Only a hint: they look for truth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from sqlalchemy import Connection

VERDICTS: Final = "hardstand_verdicts"

EVERYTHING: Final = "*"
"""Sent in place of ids when there are too many for one notice."""

_MOST: Final = 200


def tell_verdicts(connection: Connection, event_ids: Sequence[UUID]) -> None:
    """Tell, when the transaction commits, that these events have their verdict."""
    if event_ids:
        few = len(event_ids) <= _MOST
        said = " ".join(str(event_id) for event_id in event_ids) if few else EVERYTHING
        connection.exec_driver_sql("SELECT pg_notify(%s, %s)", (VERDICTS, said))
