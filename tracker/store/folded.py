"""Which version of the fold made the records that stand."""

from __future__ import annotations

from sqlalchemy import Connection, select, update

from tracker.store.tables import FOLDED


def version(connection: Connection) -> int:
    """Return the version by which all records were made last."""
    made_by: int = connection.execute(select(FOLDED.c.version)).scalar_one()
    return made_by


def note(connection: Connection, made_by: int) -> None:
    """Keep that all records were made by a version."""
    connection.execute(update(FOLDED).values(version=made_by))
