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


def depots_of(connection: Connection, question_ids: Collection[UUID]) -> dict[UUID, str | None]:
    """Return the depot of each question that is open."""
    if not question_ids:
        return {}
    found = connection.exec_driver_sql(
        "SELECT id, depot FROM questions WHERE id = ANY(%s::uuid[])", (list(question_ids),)
    )
    return {row.id: row.depot for row in found}


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
                body_of(question),
            )
            for record, question in opened
        ),
    )


def body_of(question: Question) -> str:
    """Write a question in its one way."""
    return orjson.dumps(question, option=orjson.OPT_SORT_KEYS).decode()


Kept = tuple[str | None, str]
"""A question as the table keeps it: the depot whose it is, and its body."""


def as_kept(record: Record) -> list[Kept]:
    """Return the questions of a record as the table keeps them, sorted."""
    return sorted(((record.depot, body_of(one)) for one in record.questions), key=repr)


def kept_for(connection: Connection, unit_ids: Collection[UUID]) -> dict[UUID, list[Kept]]:
    """Return the open questions kept for units, sorted."""
    found = connection.exec_driver_sql(
        "SELECT unit_id, depot, body::text FROM questions WHERE unit_id = ANY(%s::uuid[])",
        (list(unit_ids),),
    )
    kept: dict[UUID, list[Kept]] = {}
    for row in found:
        kept.setdefault(row.unit_id, []).append((row.depot, row.body))
    return {unit_id: sorted(those, key=repr) for unit_id, those in kept.items()}


def replace(connection: Connection, record: Record) -> None:
    """Let exactly the questions of a record stand for its unit."""
    connection.exec_driver_sql("DELETE FROM questions WHERE unit_id = %s", (record.unit_id,))
    write(connection, [(record, question) for question in record.questions], [])
