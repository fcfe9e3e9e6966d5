"""Show one unit: its record today or as of a moment, its whole history, what stands apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import orjson
from sqlalchemy import Connection

from schemas.records import Record
from shared.errors import HardstandError
from tracker.judge import fold
from tracker.judge.entry import moment_text
from tracker.judge.subject import subject_of_mark
from tracker.services.context import Context
from tracker.services.shown_rows import show_row
from tracker.services.stream import entry_of
from tracker.store import alerts, history, intake, marks, people, records
from tracker.store.engine import one_moment
from tracker.store.history import HistoryRow


class UnitUnknownError(HardstandError):
    """No unit is known by a mark or tag; carries it."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"No unit is known by {name!r}",
            expected="a mark it bears or ever bore, or a tag such as #NORTH/T-12",
            remedy="Check the mark, or look through the stock",
        )


@dataclass(frozen=True, slots=True)
class UnitView:
    """What is shown of one unit, people named; all JSON."""

    unit_id: UUID
    record: dict[str, Any]
    history: list[dict[str, Any]]
    """Its rows as recorded. After an answer or correction comes what that brought from another
    unit, under its `seq` and `digest` and with its id as `brought_by`. A row that stands no more,
    or otherwise, names who said so as `replaced_by`."""
    apart: list[dict[str, Any]]
    """Events about it that wait for a verdict or are held."""


def find_unit(connection: Connection, name: str) -> UUID:
    """Return the unit known by a mark, a tag or its own id; raises `UnitUnknownError`."""
    subject = name if name.startswith("#") else subject_of_mark(name)
    found = marks.resolve(connection, [subject]).get(subject)
    if found is not None:
        return found
    try:
        unit_id = UUID(name)
    except ValueError:
        raise UnitUnknownError(name) from None
    if unit_id not in records.load(connection, [unit_id]):
        raise UnitUnknownError(name)
    return unit_id


def show_unit(
    context: Context,
    name: str,
    *,
    as_of: datetime | None = None,
    known_at: datetime | None = None,
) -> UnitView:
    """Return one unit as it is, as it was at `as_of`, or as it was known at `known_at`.

    Raises:
        UnitUnknownError: nobody has reported such a unit, or not by `known_at`.
    """
    with one_moment(context.engine) as connection:
        unit_id = find_unit(connection, name)
        rows = history.load(connection, [unit_id])[unit_id]
        if as_of is None and known_at is None:
            record = records.load(connection, [unit_id])[unit_id]
        else:
            rows = _known(rows, known_at)
            until = None if as_of is None else moment_text(as_of)
            record = fold.fold(str(unit_id), map(entry_of, rows), until=until)
            if not rows:
                raise UnitUnknownError(name)
            rows = _true(rows, as_of)
        apart = [_apart(row) for row in intake.list_apart(connection, unit_id)]
        shown = {
            "record": _show_record(record, connection),
            "history": _show_history(rows, as_of),
        }
        told: dict[str, Any] = people.reveal(connection, shown)
    return UnitView(unit_id, told["record"], told["history"], apart)


def _known(rows: Sequence[HistoryRow], known_at: datetime | None) -> list[HistoryRow]:
    return [row for row in rows if known_at is None or row.recorded_at <= known_at]


def _true(rows: Sequence[HistoryRow], as_of: datetime | None) -> list[HistoryRow]:
    """Return the rows to show as of a moment: answers and corrections tell what was true then."""
    return [
        row
        for row in rows
        if as_of is None or row.kind in fold.SETTLING or row.effective_at <= as_of
    ]


def _show_record(record: Record, connection: Connection) -> dict[str, Any]:
    shown: dict[str, Any] = orjson.loads(orjson.dumps(record))
    shown["alerts"] = alerts.list_answered_of(connection, UUID(record.unit_id))
    return shown


def _show_history(rows: Sequence[HistoryRow], as_of: datetime | None) -> list[dict[str, Any]]:
    own = {
        str(row.event_id): show_row(row) | {"brought_by": None, "replaced_by": None} for row in rows
    }
    until = None if as_of is None else moment_text(as_of)
    shown = []
    for row in own.values():
        shown.append(row)
        for event_id, instead in row["resolved"].get("overrides", {}).items():
            if event_id in own:
                own[event_id]["replaced_by"] = row["id"]
            elif instead is not None and (until is None or instead["effective_at"] <= until):
                shown.append(_show_brought(row, event_id, instead))
    return shown


def _show_brought(by: dict[str, Any], event_id: str, brought: dict[str, Any]) -> dict[str, Any]:
    event = brought["payload"]
    return {
        **by,
        "id": event_id,
        "kind": brought["kind"],
        "happened_at": event["happened_at"],
        "effective_at": brought["effective_at"],
        "reported_by": event["reported_by"],
        "depot": event["depot"],
        "event": event,
        "findings": brought["findings"],
        "doubted": brought["doubted"],
        "resolved": brought["resolved"],
        "brought_by": by["id"],
    }


def _apart(row: dict[str, Any]) -> dict[str, Any]:
    return {
        "id": str(row["event_id"]),
        "state": row["state"],
        # What is held may be held for just this: that it cannot be read.
        "kind": row["body"].get("kind") if isinstance(row["body"], dict) else None,
        "received_at": row["received_at"].astimezone(UTC).isoformat(),
        "error": row["error"],
    }
