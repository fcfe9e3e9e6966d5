"""Which unit a mark or a tag means. A mark the unit bore once goes on meaning it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from uuid import UUID

from sqlalchemy import Connection, update
from sqlalchemy.dialects.postgresql import insert

from schemas.records import Presence
from tracker.store import statements
from tracker.store.tables import MARKS, MOVES


def resolve(connection: Connection, subjects: Collection[str]) -> dict[str, UUID]:
    """Return the unit of each subject that means one."""
    if not subjects:
        return {}
    found = connection.exec_driver_sql(
        "SELECT subject, unit_id FROM marks WHERE subject = ANY(%s::text[])", (list(subjects),)
    )
    return {row.subject: row.unit_id for row in found}


def claim(connection: Connection, units: Mapping[str, UUID]) -> None:
    """Let new subjects mean units; fails by name when another drain was first.

    In order of the subjects, so that two drains wait for each other and never deadlock.
    """
    statements.copy_rows(connection, "marks", ("subject", "unit_id"), sorted(units.items()))


def point(connection: Connection, subject: str, unit_id: UUID) -> None:
    """Let a subject mean a unit from now on, whatever it meant before."""
    connection.execute(
        insert(MARKS)
        .values(subject=subject, unit_id=unit_id)
        .on_conflict_do_update(constraint="pk_marks", set_={"unit_id": unit_id})
    )


def point_all(connection: Connection, from_unit: UUID, to_unit: UUID) -> None:
    """Let all that means one unit mean another: they are the same box."""
    connection.execute(update(MARKS).where(MARKS.c.unit_id == from_unit).values(unit_id=to_unit))


def which_exist(
    connection: Connection,
    candidates: Collection[str],
    depot: str | None = None,
    presence: Presence = "expected",
) -> dict[str, bool]:
    """Return which candidate marks mean a unit, and of each whether it is `presence` at a depot.

    Without a depot it counts wherever it is.
    """
    found = connection.exec_driver_sql(
        "SELECT subject, presence = %s AND depot = coalesce(%s, depot) AS is_so"
        " FROM marks JOIN records USING (unit_id) WHERE subject = ANY(%s::text[])",
        (presence, depot, list(candidates)),
    )
    return {row.subject: row.is_so for row in found}


def owner_codes(connection: Connection) -> frozenset[str]:
    """Return the owner codes of all marks known, three letters each."""
    return frozenset(row.code for row in statements.rows(connection, "owner_codes"))


def note_moves(
    connection: Connection, event_ids: Collection[str], from_unit: UUID, to_unit: UUID, by: UUID
) -> None:
    """Write down that events stand with another unit now. Nothing moves physically."""
    rows = [
        {"event_id": UUID(event_id), "from_unit": from_unit, "to_unit": to_unit, "by_event": by}
        for event_id in event_ids
    ]
    if rows:
        connection.execute(insert(MOVES), rows)
