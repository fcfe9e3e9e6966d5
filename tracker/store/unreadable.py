"""What was handed in and is no event: kept as it came, for somebody to look at."""

from __future__ import annotations

import contextlib
import json
import re
from typing import Any

from sqlalchemy import Connection, select, update

from tracker.store.tables import UNREADABLE


def list_all(connection: Connection) -> list[dict[str, Any]]:
    """Return what could not be read, oldest first, with why."""
    named = UNREADABLE.c.id.label("event_id")
    query = select(named, UNREADABLE.c.received_at, UNREADABLE.c.error)
    found = connection.execute(query.order_by(UNREADABLE.c.received_at, UNREADABLE.c.id))
    return [dict(row._mapping) for row in found]


def forget(connection: Connection, value: str, instead: str) -> bool:
    """Write `instead` for a value wherever it stands in what could not be read, or in why.

    Return whether it stood anywhere. These bodies have no fields to go by, so each spelling that
    a sender may have used is looked for: as text, with JSON's escapes, in two bytes a letter.
    """
    spellings = _spellings(value)
    found = connection.execute(select(UNREADABLE.c.id, UNREADABLE.c.body, UNREADABLE.c.error))
    was_there = False
    for row in found.all():
        body = row.body
        for spelled, coded in spellings.items():
            body = body.replace(spelled, instead.encode(coded))
        error = row.error.replace(value, instead)
        if (body, error) != (row.body, row.error):
            was_there = True
            mine = UNREADABLE.c.id == row.id
            connection.execute(update(UNREADABLE).where(mine).values(body=body, error=error))
    return was_there


def _spellings(value: str) -> dict[bytes, str]:
    """Return each way to write a value, with the code it is written in."""
    escaped = json.dumps(value)[1:-1]
    # JSON may write its escapes in capitals.
    capitals = re.sub(r"\\u[0-9a-f]{4}", lambda one: "\\u" + one[0][2:].upper(), escaped)
    quoted = json.dumps(value, ensure_ascii=False)[1:-1]
    spellings = {one.encode(): "utf-8" for one in (value, quoted, escaped, capitals)}
    for code in ("utf-16-le", "utf-16-be", "latin-1"):
        with contextlib.suppress(UnicodeEncodeError):
            spellings[value.encode(code)] = code
    return spellings
