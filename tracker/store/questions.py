"""The open questions of all units, as the records hold them, for the screen that lists them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from uuid import UUID

import orjson
from sqlalchemy import Connection

from schemas.records import Question, Record
from tracker.store import statements


def unit_of(connection: Connection, question_ids: Collection[UUID]) -> dict[UUID, UUID]:
    """Return the unit of each question that is open."""
    if not question_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT id, unit_id FROM questions WHERE id = ANY(%s::uuid[])", (list(question_ids),)
    )
    return {row.id: row.unit_id for row in found}


def write(
    connection: Connection, opened: Iterable[tuple[Record, Question]], closed: Collection[str]
) -> None:
    """Let questions stand that opened, and go that were settled."""
    if closed:
        connection.exec_driver_sql(
            "DELETE FROM questions WHERE id = ANY(%s::uuid[])", (list(closed),)
        )
    statements.copy_rows(
        connection,
        "questions",
        ("id", "unit_id", "depot", "finding", "opened_at", "body"),
        (
            (
                question.id,
                record.unit_id,
                record.depot,
                question.finding,
                question.opened_at,
                orjson.dumps(question).decode(),
            )
            for record, question in opened
        ),
    )
