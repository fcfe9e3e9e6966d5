"""Write what a batch came to: histories, records, questions, alerts gone, breaches told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Final
from uuid import UUID

import structlog
from sqlalchemy import Connection

from schemas.records import Breach, Question, Record
from tracker.judge import due
from tracker.judge.judgement import Rulebook
from tracker.services import told_at_once
from tracker.services.record_rows import row_of
from tracker.services.stream import Stream
from tracker.services.working_set import Unit, WorkingSet
from tracker.store import alerts, history, marks, orders, outbox, photo_uses, questions, records
from tracker.store.alerts import AlertRow

log = structlog.get_logger()

_GONE: Final = date.min


def write(
    connection: Connection, work: WorkingSet, rules: Rulebook, *, mails_questions: bool
) -> None:
    """Write everything that the batch changed, each table at once.

    The questions of a file of old papers are mailed to nobody: they stand on the page, and whoever
    reads the file in has them from the command. A breach is told however it came to be known.
    """
    touched = [unit for unit in work.units.values() if unit.lines]
    ordered = [stream for stream in work.orders.values() if stream.lines]
    new = [unit for unit in touched if unit.is_new]
    known = [unit for unit in touched if not unit.is_new]
    streams: list[Stream] = [*touched, *ordered]
    lines = [line for stream in streams for line in stream.lines]
    history.append(connection, lines)
    photo_uses.note(connection, lines)
    history.write_heads(
        connection,
        {stream.stream_id: stream.head for stream in streams if stream.is_new},
        {stream.stream_id: stream.head for stream in streams if not stream.is_new},
    )
    orders.write(connection, [stream.order for stream in ordered])
    records.write(
        connection,
        [row_of(unit.record) for unit in new],
        [row_of(unit.record) for unit in known],
    )
    marks.claim(connection, work.new_meaning)
    opened = _write_questions(connection, touched)
    _clear_alerts(connection, work, known, rules)
    _tell_breaches(connection, work, touched, rules)
    if mails_questions:
        _tell_questions(connection, work, opened, rules)


def _write_questions(connection: Connection, touched: list[Unit]) -> list[tuple[Record, Question]]:
    """Write what is asked now; return what was not asked of the unit before."""
    new: list[tuple[Record, Question]] = []
    opened: list[tuple[Record, Question]] = []
    closed: list[str] = []
    for unit in touched:
        before = unit.asked_before
        stand = {question.id: question for question in unit.record.questions}
        moved = unit.record.depot != unit.depot_before
        if stand == before and not (moved and stand):
            continue
        opened += [
            (unit.record, question)
            for known, question in stand.items()
            if moved or before.get(known) != question
        ]
        new += [(unit.record, one) for known, one in stand.items() if known not in before]
        # A question whose wording or depot changed goes and comes again, in this order.
        closed += [
            known for known, question in before.items() if moved or stand.get(known) != question
        ]
    questions.write(connection, opened, closed)
    return new


def _tell_questions(
    connection: Connection,
    work: WorkingSet,
    opened: list[tuple[Record, Question]],
    rules: Rulebook,
) -> None:
    letters = [
        told_at_once.question_letter(record, question, rules.zone_of(record.depot))
        for record, question in opened
    ]
    outbox.post(connection, letters, work.recorded_at)


def _clear_alerts(
    connection: Connection, work: WorkingSet, known: list[Unit], rules: Rulebook
) -> None:
    if not known:
        return
    standing = alerts.list_open_of(connection, [unit.unit_id for unit in known])
    causes = {
        unit_id: _causes(work.units[unit_id].record, rules)
        for unit_id in {row.unit_id for row in standing}
    }
    gone = [
        row
        for row in standing
        if not _stands(row, work.units[row.unit_id].record, causes[row.unit_id])
    ]
    alerts.clear(connection, gone, work.recorded_at)
    for row in standing:
        # What falls due goes with the box; a breach stays with the depot where it happened.
        depot = work.units[row.unit_id].record.depot
        if row.kind != due.BREACH and depot is not None and depot != row.depot:
            alerts.hand_over(connection, row, depot)


def _causes(record: Record, rules: Rulebook) -> dict[tuple[str, str], date | None]:
    """Return what the record owes, each with its due day; a breach has none."""
    zone = rules.zone_of(record.depot)
    causes: dict[tuple[str, str], date | None] = {
        (one.kind, one.cause): one.due_on for one in due.owed(record, rules.month_reading, zone)
    }
    for breach in record.breaches:
        causes[due.BREACH, f"{breach.event}/{breach.finding}"] = None
    return causes


def _stands(row: AlertRow, record: Record, causes: Mapping[tuple[str, str], date | None]) -> bool:
    """Say whether an alert's cause stands, due on the same day; on another it is told anew."""
    if row.kind == due.NOT_SEEN:
        return due.is_still_unseen(record, row.cause, row.depot)
    return causes.get((row.kind, row.cause), _GONE) in (None, row.due_on)


def _tell_breaches(
    connection: Connection, work: WorkingSet, touched: list[Unit], rules: Rulebook
) -> None:
    new = [
        (unit.record, breach, _depot(unit, breach))
        for unit in touched
        for breach in unit.record.breaches
        if (breach.event, breach.finding) not in unit.breaches_before
    ]
    if not new:
        return
    alerts.raise_all(connection, [_alert(*one, rules) for one in new])
    letters = [
        told_at_once.breach_letter(record, breach, at, rules.zone_of(at))
        for record, breach, at in new
    ]
    outbox.post(connection, letters, work.recorded_at)
    for (_, breach, at), letter in zip(new, letters, strict=True):
        # What the mail's own log line names is the letter.
        log.warning(
            "breach.found",
            event_id=breach.event,
            finding=breach.finding,
            depot=at,
            letter=str(letter.id),
        )


def _depot(unit: Unit, breach: Breach) -> str:
    """Return where it happened: a box sent to another depot stands under that one already."""
    reported = (entry.payload["depot"] for entry in unit.added if entry.event_id == breach.event)
    return next(reported, unit.record.depot) or ""


def _alert(record: Record, breach: Breach, depot: str, rules: Rulebook) -> AlertRow:
    day = rules.day_of(datetime.fromisoformat(breach.at), depot)
    return AlertRow(
        unit_id=UUID(record.unit_id),
        kind=due.BREACH,
        cause=f"{breach.event}/{breach.finding}",
        depot=depot,
        role="manager",
        due_on=day,
        says=breach.says,
        raised_on=day,
    )
