"""The daily round: once per depot and day, raise what falls due and put reminders in the outbox.

The task ticks every hour; a depot's round is made at the first tick of its own day, and a day that
was missed is caught up by the next round, since reminders are counted and not timed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from itertools import groupby
from typing import Final
from uuid import UUID

import structlog
from sqlalchemy import Connection

from schemas.records import Record
from tracker.judge import due
from tracker.judge.due import Due
from tracker.services.context import Context
from tracker.store import alerts, due_records, history, house, outbox, rounds
from tracker.store.alerts import AlertRow
from tracker.store.outbox import Letter, letter_id

log = structlog.get_logger()

_SECTIONS: Final = {
    due.EXAMINATION_DUE: "Examinations due",
    due.REPAIR_OVERDUE: "Repairs overdue",
    due.WORK_OVERDUE: "Work overdue",
}
_AT_ONCE: Final = 2000


@dataclass(frozen=True, slots=True)
class RoundReport:
    """What one depot's round came to."""

    depot: str
    day: date
    raised: int
    reminded: int
    letters: int
    root: str


def make_rounds(context: Context, *, on: date | None = None) -> list[RoundReport]:
    """Make the round of every depot whose day has none yet; `on` stands for today everywhere.

    May be called at any time and again: a round that was made is not made twice.
    """
    with context.engine.begin() as connection:
        zones = house.zones(connection)
        depots = sorted({*zones, *due_records.depots_with_stock(connection)})
    reports = []
    for depot in depots:
        report = _make_round(context, depot, zones.get(depot), on)
        if report is not None:
            reports.append(report)
    return reports


def _make_round(
    context: Context, depot: str, zone: tzinfo | None, on: date | None
) -> RoundReport | None:
    now = context.clock.now()
    today = on or (now if zone is None else now.astimezone(zone)).date()
    with context.engine.begin() as connection:
        if not rounds.begin(connection, depot, today):
            return None
        raised = _raise_alerts(context, connection, depot, today)
        reminded = _remind(context, connection, depot, today)
        digest, streams = history.root(connection)
        rounds.note_root(connection, depot, today, digest)
        letters = [*_letters(depot, today, reminded, digest.hex(), streams)]
        outbox.post(connection, letters, now)
    report = RoundReport(depot, today, raised, len(reminded), len(letters), digest.hex())
    log.info("round.made", depot=depot, day=str(today), raised=raised, reminded=len(reminded))
    return report


def _raise_alerts(context: Context, connection: Connection, depot: str, today: date) -> int:
    """Raise what is due by today or within the longest notice; return how many were looked at."""
    horizon = today + timedelta(days=_notice(context) + 31)
    raised = 0
    for records in due_records.owing(connection, depot, horizon, _AT_ONCE):
        rows = [
            _row(record, one, depot, today)
            for record in records
            for one in due.owed(record, context.month_reading)
            if due.reminders_passed(today, one.due_on, _ahead(context, one.kind))
        ]
        alerts.raise_all(connection, rows)
        raised += len(rows)
    return raised


def _notice(context: Context) -> int:
    return max(context.settings.alert_days, default=0)


def _ahead(context: Context, kind: str) -> Sequence[int]:
    """Examinations are told ahead; what should have been mended is told when it is late."""
    return context.settings.alert_days if kind == due.EXAMINATION_DUE else ()


def _row(record: Record, one: Due, depot: str, today: date) -> AlertRow:
    return AlertRow(
        UUID(record.unit_id), one.kind, one.cause, depot, one.role, one.due_on, one.says, today
    )


@dataclass(frozen=True, slots=True)
class _Reminder:
    role: str
    kind: str
    mark: str
    says: str
    on: str


def _remind(context: Context, connection: Connection, depot: str, today: date) -> list[_Reminder]:
    """Take every reminder that is due and not yet told."""
    reminders = []
    for row, mark in alerts.list_to_remind(connection, depot):
        step = due.reminders_passed(today, row.due_on, _ahead(context, row.kind))
        if step > row.step:
            alerts.take_step(connection, row, step)
            reminders.append(_Reminder(row.role, row.kind, mark, row.says, row.due_on.isoformat()))
    return reminders


def _letters(
    depot: str, today: date, reminders: Iterable[_Reminder], root: str, streams: int
) -> Iterator[Letter]:
    """One letter per role that has something to do; the manager's also carries the root."""
    ordered = sorted(reminders, key=lambda one: (one.role, one.kind, one.on, one.mark))
    by_role = {role: list(some) for role, some in groupby(ordered, key=lambda one: one.role)}
    for role, some in by_role.items():
        closing = "Hardstand reminds once at each step, and stops when the cause is gone."
        if role == "manager":
            closing += f"\n\nRoot of all {streams} histories on {today}: {root}"
        yield Letter(
            id=letter_id("round", depot, role, today.isoformat()),
            depot=depot,
            role=role,
            subject=f"{depot}, {today}: {_headline(some)}",
            body={
                "opening": f"This is due at {depot} on {today}.",
                "lines": [{"mark": one.mark, "says": one.says, "on": one.on} for one in some],
                "closing": closing,
            },
        )


def _headline(reminders: Sequence[_Reminder]) -> str:
    kinds = [one.kind for one in reminders]
    return ", ".join(
        f"{title.lower()} {kinds.count(kind)}" for kind, title in _SECTIONS.items() if kind in kinds
    )
