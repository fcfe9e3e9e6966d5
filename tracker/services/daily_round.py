"""The daily round: once per depot and day, raise what falls due and put reminders in the outbox.

The task ticks every hour; a depot's round is made at the first tick of its own day, and a day that
was missed is caught up by the next round, since reminders are counted and not timed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, timedelta, tzinfo
from typing import Final
from uuid import UUID

import structlog
from sqlalchemy import Connection

from schemas.records import load_record
from shared.due_schedule import schedules
from tracker.judge import due
from tracker.judge.due import Due, Telling
from tracker.services import due_mail, short_orders
from tracker.services.context import Context
from tracker.services.due_mail import DayMail, DepotDay
from tracker.services.fix_root import FixedRoot, fix_root
from tracker.services.lapse import lapse_reservations
from tracker.services.rebuild import must_rebuild
from tracker.services.unseen import raise_unseen
from tracker.store import alerts, due_records, house, outbox, reminders, rounds
from tracker.store.alerts import AlertRow
from tracker.store.reminders import Reminder, Told

log = structlog.get_logger()

_AT_ONCE: Final = 5000
_WEEK: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class RoundReport:
    """What one depot's round came to. `broken` counts records that could not be looked at."""

    depot: str
    day: date
    raised: int
    reminded: int
    letters: int
    broken: int
    root: str
    moment: str


@dataclass(frozen=True, slots=True)
class _Round:
    """One depot's round under way: where, which day it is there, and what goes by what."""

    context: Context
    connection: Connection
    depot: str
    zone: tzinfo
    today: date
    mail: DayMail = field(default_factory=DayMail)


def make_rounds(context: Context, *, on: date | None = None) -> list[RoundReport]:
    """Make the round of every depot whose day has none yet; `on` stands for today everywhere.

    May be called at any time and again: a round that was made is not made twice. Whatever day it
    is, reservations that have ended lapse.

    Raises:
        Exception: What kept a depot from its round, once all others had theirs; the next call
            makes it good.
    """
    lapse_reservations(context)
    now = context.clock.now()
    with context.engine.begin() as connection:
        zones = house.zones(connection)
        depots = sorted({*zones, *due_records.depots_with_stock(connection)})
        days = {depot: on or now.astimezone(zones.get(depot, UTC)).date() for depot in depots}
        waiting = [depot for depot in depots if not rounds.is_made(connection, depot, days[depot])]
    for depot in depots:
        short_orders.look_if_possible(context, {depot})
    if not waiting:
        return []
    if must_rebuild(context):
        log.warning("records.of_another_fold", remedy="hardstand rebuild")
    root = fix_root(context)
    made: list[RoundReport] = []
    failed: list[Exception] = []
    for depot in waiting:
        try:
            made += _make_round(context, root, depot, zones.get(depot, UTC), days[depot])
        except Exception as fault:  # whatever is wrong at one depot, the others have their round
            log.exception("round.failed", depot=depot, day=str(days[depot]))
            failed.append(fault)
    if failed:
        raise failed[0]
    return made


def _make_round(
    context: Context, root: FixedRoot, depot: str, zone: tzinfo, today: date
) -> list[RoundReport]:
    """Make one depot's round; returns nothing where somebody else has made it meanwhile."""
    with context.engine.begin() as connection:
        if not rounds.begin(connection, depot, today):
            return []
        going = _Round(context, connection, depot, zone, today)
        raised, broken = _raise_alerts(going)
        raised += raise_unseen(connection, depot, zone, today)
        reminded = _remind(going)
        rounds.note_root(connection, depot, today, root.root, root.moment)
        day = DepotDay(depot, today, zone)
        letters = due_mail.letters(connection, context.secret, day, going.mail, root)
        outbox.post(connection, letters, context.clock.now())
    log.info("round.made", depot=depot, day=str(today), raised=raised, reminded=reminded)
    report = RoundReport(
        depot=depot,
        day=today,
        raised=raised,
        reminded=reminded,
        letters=len(letters),
        broken=broken,
        root=root.root.hex(),
        moment=root.moment.astimezone(UTC).isoformat(timespec="microseconds"),
    )
    return [report]


def _raise_alerts(going: _Round) -> tuple[int, int]:
    """Raise what is to be told by today; return how many were raised, how many records broke."""
    # A day more than today, since days at the depot may begin before those of UTC.
    further = max((*going.context.settings.alert_days, due.AHEAD_DAYS)) - due.AHEAD_DAYS
    until = going.today + timedelta(days=1 + further)
    raised = broken = 0
    for bodies in due_records.owing(going.connection, going.depot, until, _AT_ONCE):
        rows: list[AlertRow] = []
        for unit_id, body in bodies:
            try:
                rows += _rows(going, unit_id, body)
            except Exception:
                # Whatever is wrong with one record, the others must be told of.
                log.exception("round.record_broken", unit_id=str(unit_id), depot=going.depot)
                broken += 1
        raised += _raise_new(going.connection, rows)
    return raised, broken


def _raise_new(connection: Connection, rows: Sequence[AlertRow]) -> int:
    standing = alerts.list_open_of(connection, {row.unit_id for row in rows})
    known = {(row.unit_id, row.kind, row.cause) for row in standing}
    new = [row for row in rows if (row.unit_id, row.kind, row.cause) not in known]
    alerts.raise_all(connection, new)
    return len(new)


def _rows(going: _Round, unit_id: UUID, body: str) -> Iterator[AlertRow]:
    for one in due.owed(load_record(body), going.context.month_reading, going.zone):
        if _telling(going, one.kind, one.due_on, 0) is not None:
            yield _row(going, unit_id, one)


def _row(going: _Round, unit_id: UUID, one: Due) -> AlertRow:
    return AlertRow(
        unit_id=unit_id,
        kind=one.kind,
        cause=one.cause,
        depot=going.depot,
        role=schedules()[one.kind].role,
        due_on=one.due_on,
        says=one.says,
        raised_on=going.today,
        next_on=going.today,
    )


def _telling(going: _Round, kind: str, due_on: date, told: int) -> Telling | None:
    ahead = going.context.settings.alert_days if kind == due.EXAMINATION_DUE else ()
    return due.tell(schedules()[kind], ahead, due_on, told, going.today)


def _remind(going: _Round) -> int:
    """Tell what is due to be told and was not yet; return how many."""
    count = 0
    for lot in reminders.list_due(going.connection, going.depot, going.today, _AT_ONCE):
        told = [_remind_of(going, one) for one in lot]
        reminders.note_told(going.connection, told)
        count += len(told)
    return count


def _remind_of(going: _Round, reminder: Reminder) -> Told:
    alert = reminder.alert
    telling = _telling(going, alert.kind, alert.due_on, alert.step)
    if telling is None:
        # Put off, or under other settings since: told because its day has come.
        telling = Telling(alert.step, alert.role, going.today + _WEEK, is_last=False)
    going.mail.add(telling.role, reminder, is_last=telling.is_last)
    return Told(reminder, telling.step, telling.next_on)
