"""Drain a lane: claim, judge and write its events batch by batch, until it is empty or time is up.

May run any number of times, side by side and in any order: one drain at a time works on a lane,
and what one leaves the next finds. When a worker dies half-way its transaction is undone; the mark
it left makes the next one go on in ever smaller batches, until the event that kills is alone and
is set aside.
"""

from __future__ import annotations

import traceback
from collections.abc import Sequence
from dataclasses import dataclass, field
from time import monotonic, sleep
from typing import Final
from uuid import UUID

import structlog
from psycopg import errors as postgres
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from shared import logs
from tracker.services import short_orders
from tracker.services.batch import Batch
from tracker.services.context import Context
from tracker.services.faults import PoisonedEventError
from tracker.store import intake, lanes, notices, receipts, roots
from tracker.store.intake import Waiting
from tracker.store.lanes import Suspicion
from tracker.store.receipts import ReceiptRow

log = structlog.get_logger()

_SIZES: Final = (1.0, 1.0, 0.1, 0.01)
"""What part of a full batch is claimed after so many deaths; after more, one event."""

_FILE_PART: Final = 4
"""A file goes in smaller batches: what is reported by hand waits for the locks of none for long."""

_PART_FOR_JUDGING: Final = 0.2
"""Of the time after which the server takes an idle transaction for a frozen process's: a batch is
judged in memory, and nothing is said to the server meanwhile."""

_DEATHS_TO_HOLD: Final = 6
_TRIES: Final = 5
_MOST_NAMED: Final = 20
_RACES: Final = (postgres.UniqueViolation, postgres.SerializationFailure, postgres.DeadlockDetected)


@dataclass(slots=True)
class DrainReport:
    """What one drain came to. `more` says that the lane still has work."""

    lane: int
    recorded: int = 0
    refused: int = 0
    held: int = 0
    batches: int = 0
    busy: bool = False
    more: bool = False
    event_ids: list[UUID] = field(default_factory=list)
    stock_changed: set[str] = field(default_factory=set)
    """The depots whose free stock or promises changed; to be looked at after the commit."""


def drain(context: Context, lane: int) -> DrainReport:
    """Work on a lane for as long as the settings allow.

    Returns:
        What was done. `busy` when another drain holds the lane: that one looks again before it
        ends, so the order to this one may be dropped.
    """
    report = DrainReport(lane)
    stop_at = monotonic() + context.settings.drain_budget_ms / 1000
    context.announcer.begin(lane)
    # One connection for all batches: each time one is taken from the pool it is tried first.
    with context.engine.connect() as connection:
        while True:
            begun = monotonic()
            claimed = _next_batch(context, connection, report)
            if report.busy:
                return report
            short_orders.look_if_possible(context, report.stock_changed)
            report.stock_changed.clear()
            waiting = _lanes_waiting(connection)
            report.more = lane in waiting
            if not report.more or (claimed and monotonic() >= stop_at):
                break
            if _is_of_files(context, lane) and len(waiting) > 1:
                sleep(monotonic() - begun)  # a file gives way to those who report by hand
    if report.more:
        context.announcer.announce([lane])
    log.info(
        "lane.drained",
        lane=lane,
        recorded=report.recorded,
        refused=report.refused,
        held=report.held,
        batches=report.batches,
    )
    return report


def _is_of_files(context: Context, lane: int) -> bool:
    return lane == lanes.lane_of_files(context.settings.lanes)


def _lanes_waiting(connection: Connection) -> list[int]:
    """Look again after the lock is gone: whoever found the lane busy dropped its order."""
    with connection.begin():
        return intake.lanes_waiting(connection)


def _next_batch(context: Context, connection: Connection, report: DrainReport) -> bool:
    """Judge one batch; say whether there was one."""
    alone = False
    for attempt in range(1, _TRIES + 1):
        try:
            return _judge_batch(context, connection, report, alone=alone)
        except PoisonedEventError as poison:
            _set_aside(context, report, poison.waiting, poison.fault)
        except (DBAPIError, postgres.Error) as fault:
            cause = _cause(fault)
            if isinstance(cause, _RACES) and attempt < _TRIES:
                log.info("batch.retried", lane=report.lane, fault=type(cause).__name__)
            elif isinstance(cause, postgres.DataError) and not alone:
                alone = True  # one of them holds what the database refuses; find it alone
            else:
                raise
    return True


def _judge_batch(
    context: Context, connection: Connection, report: DrainReport, *, alone: bool
) -> bool:
    lane = report.lane
    with connection.begin():
        if not lanes.try_lock(connection, lane):
            report.busy = True
            return False
        suspicion = lanes.find_suspicion(connection, lane)
        full = context.settings.drain_batch
        if _is_of_files(context, lane):
            full = max(1, full // _FILE_PART)
        size = 1 if alone else _size(full, suspicion)
        claimed = intake.claim(connection, lane, size)
        if not claimed:
            return False
        deaths = suspicion.deaths if suspicion else 0
        if len(claimed) == 1 and deaths >= _DEATHS_TO_HOLD:
            fault = RuntimeError(f"its worker died {deaths} times while judging it")
            lanes.clear_suspicion(connection, lane)
            raise PoisonedEventError(claimed[0], fault)
        mark = _leave_mark(context, lane, claimed, suspicion)
        try:
            is_whole = _judge(context, connection, report, claimed, alone=alone)
        except (DBAPIError, postgres.Error):
            _give_back(context, lane, mark, suspicion)
            raise
        _take_mark_away(connection, lane, claimed, suspicion, is_whole=is_whole)
    return True


def _judge(
    context: Context,
    connection: Connection,
    report: DrainReport,
    claimed: Sequence[Waiting],
    *,
    alone: bool,
) -> bool:
    """Judge what is claimed, or as much of it as there is time for; say whether it was all."""
    begun = monotonic()
    longest_s = context.settings.idle_in_transaction_timeout_s * _PART_FOR_JUDGING
    recorded_at = roots.recording_moment(connection, context.clock.now())
    rules = context.rulebook(connection)
    asks = not _is_of_files(context, report.lane)
    batch = Batch(connection, context.secret, rules, recorded_at, mails_questions=asks)
    try:
        outcome = batch.judge(claimed, begun + longest_s)
    except (DBAPIError, postgres.Error) as fault:
        if alone and isinstance(_cause(fault), postgres.DataError):
            raise PoisonedEventError(claimed[0], fault) from fault
        raise
    notices.tell_verdicts(connection, outcome.event_ids)
    report.recorded += outcome.recorded
    report.refused += outcome.refused
    report.batches += 1
    report.event_ids += outcome.event_ids
    report.stock_changed |= outcome.stock_changed
    # A long batch is named by its moment: in `receipts` its events were recorded then.
    log.info(
        "batch.judged",
        lane=report.lane,
        events=[str(event_id) for event_id in outcome.event_ids[:_MOST_NAMED]],
        count=len(outcome.event_ids),
        at=recorded_at.isoformat(),
        took_ms=round((monotonic() - begun) * 1000, 1),
    )
    return outcome.is_whole


def _cause(fault: Exception) -> BaseException | None:
    """Return the driver's own error, which SQLAlchemy wraps and the fast ways do not."""
    return fault.orig if isinstance(fault, DBAPIError) else fault


def _size(full: int, suspicion: Suspicion | None) -> int:
    if suspicion is None:
        return full
    part = _SIZES[suspicion.deaths] if suspicion.deaths < len(_SIZES) else 0
    return max(1, int(full * part))


def _leave_mark(
    context: Context, lane: int, claimed: Sequence[Waiting], suspicion: Suspicion | None
) -> Suspicion:
    """Write down, in a transaction of its own, that this batch may kill its worker."""
    last = claimed[-1].position
    if suspicion is not None:
        last = max(last, suspicion.last_position)
    deaths = 1 + (suspicion.deaths if suspicion else 0)
    with context.engine.begin() as aside:
        # Losing this to a crash of the server is no loss; waiting for the disk would be one.
        aside.exec_driver_sql("SET LOCAL synchronous_commit = off")
        mark = Suspicion(claimed[0].position, last, deaths)
        lanes.suspect(aside, lane, mark)
    return mark


def _give_back(context: Context, lane: int, mark: Suspicion, before: Suspicion | None) -> None:
    """The database failed and nobody died: let the mark be as it was before this batch."""
    try:
        with context.engine.begin() as aside:
            lanes.withdraw(aside, lane, mark, before)
    except (DBAPIError, postgres.Error) as fault:
        # It counts as one death, then; it takes several to set anything aside.
        log.warning("mark.not_withdrawn", lane=lane, fault=type(fault).__name__)


def _take_mark_away(
    connection: Connection,
    lane: int,
    claimed: Sequence[Waiting],
    suspicion: Suspicion | None,
    *,
    is_whole: bool,
) -> None:
    """The batch came through: clear the mark, or keep the rest of what is suspected small."""
    if suspicion is not None and (not is_whole or claimed[-1].position < suspicion.last_position):
        lanes.suspect(connection, lane, suspicion)
    else:
        lanes.clear_suspicion(connection, lane)


def _set_aside(context: Context, report: DrainReport, waiting: Waiting, fault: Exception) -> None:
    """Give one event the verdict `held`: kept, shown, and judged again when let go."""
    said = logs.without_rows("".join(traceback.format_exception_only(fault)))
    with context.engine.begin() as connection:
        now = context.clock.now()
        if not intake.hold(connection, waiting.position, said):
            return  # another drain came to the same end a moment before
        held = ReceiptRow(
            waiting.event_id, waiting.digest, "held", None, None, None, waiting.received_at, now
        )
        receipts.write(connection, [held])
        lanes.clear_suspicion(connection, report.lane)
        notices.tell_verdicts(connection, [waiting.event_id])
    report.held += 1
    log.error("event.held", event_id=str(waiting.event_id), lane=report.lane, error=said)
