"""The alerts that a day's round tells of, and that it told of them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection

from tracker.store import statements
from tracker.store.alerts import AlertRow


@dataclass(frozen=True, slots=True)
class Reminder:
    """An alert to be told of, with what its unit is called and the batch it came in."""

    alert: AlertRow
    mark: str
    batch: str | None
    was_put_off: bool
    """Somebody put it off until a day that has come."""


@dataclass(frozen=True, slots=True)
class Told:
    """What became of an alert by telling it: how many reminders have gone, when the next goes."""

    reminder: Reminder
    step: int
    next_on: date | None


def list_due(
    connection: Connection, depot: str, today: date, size: int
) -> Iterator[list[Reminder]]:
    """Give a depot's alerts to be told of today, `size` at a time, the one due first first.

    Memory stays flat however many there are; what a lot is told of may be noted before the next.
    """
    after: dict[str, Any] = {"due_on": date.min, "unit_id": UUID(int=0), "kind": "", "cause": ""}
    while True:
        rows = statements.rows(
            connection, "list_reminders", depot=depot, today=today, size=size, **after
        )
        if not rows:
            return
        yield [Reminder(AlertRow(*row[:-3]), row.mark, row.batch, row.was_put_off) for row in rows]
        after = {name: getattr(rows[-1], name) for name in after}


def note_told(connection: Connection, told: Collection[Told]) -> None:
    """Note what was told, and that what was put off until today is put off no more."""
    if not told:
        return
    statements.run(
        connection,
        "note_told",
        **_names(told),
        steps=[one.step for one in told],
        next_ons=[one.next_on for one in told],
    )
    if ended := [one for one in told if one.reminder.was_put_off]:
        statements.run(connection, "end_putting_off", **_names(ended))


def _names(told: Collection[Told]) -> dict[str, list[Any]]:
    alerts = [one.reminder.alert for one in told]
    return {
        "unit_ids": [alert.unit_id for alert in alerts],
        "kinds": [alert.kind for alert in alerts],
        "causes": [alert.cause for alert in alerts],
    }
