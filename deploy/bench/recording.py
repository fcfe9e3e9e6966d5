"""How fast events are taken in, judged and recorded; beside three other ways to move rows."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import IO

import psycopg
from psycopg import sql

from deploy import stack
from deploy.bench import job_queue, one_by_one, server_costs
from deploy.bench.bench_house import House
from deploy.bench.bench_stream import LiveStream
from deploy.bench.job_queue import QueueSpeed
from deploy.bench.rows import Row, seconds
from deploy.bench.server_costs import Spent
from deploy.environment import environment_of
from deploy.process import Part
from shared import addresses as spelling
from tracker.services.accept import MOST_AT_ONCE, accept
from tracker.services.context import Context

_PROCESSES = 2
_WARMING = 40
_MANY = (1, 2, 4)
_TABLES = ("history", "heads", "records", "marks", "receipts")


def measure(house: House, *, count: int, units: int, few: int, repeats: int) -> list[Row]:
    """Return the rows about recording, each the median of several turns.

    In each turn ours and its yardsticks go one after the other, so that what else the machine does
    meets them alike. Starting processes is not counted, neither ours nor the yardsticks'.

    Args:
        house: A private, empty database.
        count: How many events to record in one go.
        units: Over how many units.
        few: How many to record one at a time, since that is slow.
        repeats: How many turns.
    """
    stream = LiveStream(units)
    turns = [_turn(house, stream, count, few) for _ in range(repeats)]
    copied_s = median(_copy_bare(house) for _ in range(repeats))
    written = _count_rows(house)
    recorded = median(turn.recorded for turn in turns)
    rows_each = written / repeats / (2 * count + few + 2 * _WARMING)
    return [
        Row("recorded, intake and drain by Celery workers", recorded, "events/s",
            median(turn.single for turn in turns), "one Celery task and one commit each", 10),
        Row("recorded, the same", recorded, "events/s",
            median(turn.queue.both for turn in turns), "pgqueuer, empty jobs", 0.5),
        Row("drain alone", median(turn.drained for turn in turns), "events/s",
            median(turn.queue.run for turn in turns), "pgqueuer's run alone", 0.7),
        Row("intake alone", median(turn.taken_in for turn in turns), "events/s",
            median(turn.queue.enqueue for turn in turns), "pgqueuer's enqueue"),
        Row("rows written, intake and drain", rows_each * recorded, "rows/s",
            written / copied_s, "COPY of the same rows into bare tables", 1 / 12),
        Row("processor time of the drains, per event",
            median(turn.processor_us for turn in turns), "µs"),
        *server_costs.rows_about([turn.spent for turn in turns], count),
        *server_costs.room_rows(house),
        *_by_processes(house, stream, count),
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Turn:
    """The rates of one turn in events per second, and what draining cost per event."""

    recorded: float
    taken_in: float
    drained: float
    processor_us: float
    single: float
    queue: QueueSpeed
    spent: Spent


def _turn(house: House, stream: LiveStream, count: int, few: int) -> _Turn:
    recorded_s = _record_all(house, stream.next(_WARMING), stream.next(count))
    more = stream.next(count)
    taken_in_s = seconds(lambda: hand_in(house.web, more))
    before = server_costs.spent(house)
    drained = drain_waiting(house)
    spent = server_costs.spent(house).since(before)
    single_s = one_by_one.record(house, stream.next(_WARMING), stream.next(few))
    queue = job_queue.measure(house, count)
    return _Turn(
        recorded=count / recorded_s,
        taken_in=count / taken_in_s,
        drained=count / drained.took_s,
        processor_us=drained.processor_s / count * 1e6,
        single=few / single_s,
        queue=queue,
        spent=spent,
    )


def hand_in(context: Context, sent: Sequence[bytes]) -> None:
    """Take events in, a thousand at a time, as a file is read.

    Raises:
        RuntimeError: One was not accepted, so that something else would be measured.
    """
    for start in range(0, len(sent), MOST_AT_ONCE):
        for receipt in accept(context, sent[start : start + MOST_AT_ONCE]):
            if not receipt.accepted:
                raise RuntimeError(f"not accepted: {receipt.error}")


@dataclass(frozen=True, slots=True)
class Drained:
    """How long drains worked, by the clock on the wall and by the processors' own."""

    took_s: float
    processor_s: float


def drain_waiting(house: House, processes: int = _PROCESSES) -> Drained:
    """Drain all that waits, in so many processes that stand ready before the clock starts."""
    command = [sys.executable, "-m", "deploy.bench.drainer"]
    environment = environment_of(house.settings)
    running = [
        subprocess.Popen(  # noqa: S603 - our own program
            command, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(processes)
    ]
    for process in running:
        _pipe(process.stdout).readline()
    begun = time.perf_counter()
    for process in running:
        _pipe(process.stdin).write("go\n")
        _pipe(process.stdin).flush()
    used = [process.communicate()[0] for process in running]
    took_s = time.perf_counter() - begun
    if any(process.returncode for process in running):
        raise RuntimeError("a drainer failed")
    return Drained(took_s, sum(map(float, used)))


def _pipe(pipe: IO[str] | None) -> IO[str]:
    if pipe is None:
        raise RuntimeError("started without a pipe")
    return pipe


def _record_all(house: House, warming: Sequence[bytes], sent: Sequence[bytes]) -> float:
    """Hand all in while real Celery workers drain; return how long until nothing waits any more."""
    parts = (Part.DRAIN, Part.SLOW, Part.BEAT)
    with stack.running(house.settings, parts), house.announcing() as context:
        hand_in(context, warming)
        house.wait_until_drained()
        begun = time.perf_counter()
        hand_in(context, sent)
        house.wait_until_drained()
        return time.perf_counter() - begun


def _by_processes(house: House, stream: LiveStream, count: int) -> list[Row]:
    """Return the rows about more drains than one, all on this machine."""
    rates = []
    for processes in _MANY:
        hand_in(house.web, stream.next(count))
        rates.append(count / drain_waiting(house, processes).took_s)
    return [
        Row(f"drain by {processes} processes", rate, "events/s", rates[0], "by one")
        for processes, rate in zip(_MANY[1:], rates[1:], strict=True)
    ]


def _count_rows(house: House) -> int:
    """Return how many rows recording has written, changes of a row counted as one."""
    address = spelling.libpq_address(house.databases.owner)
    with psycopg.connect(address) as connection:
        return sum(
            connection.execute(sql.SQL("SELECT count(*) FROM {}").format(table)).fetchone()[0]  # type: ignore[index]  # a count has a row
            for table in map(sql.Identifier, _TABLES)
        )


def _copy_bare(house: House) -> float:
    """Return how long COPY takes for the same rows into bare tables with the same indexes."""
    address = spelling.libpq_address(house.databases.owner)
    taken = 0.0
    with psycopg.connect(address, autocommit=True) as connection:
        for table in map(sql.Identifier, _TABLES):
            with connection.cursor().copy(sql.SQL("COPY {} TO STDOUT").format(table)) as copy:
                lines = list(copy)
            connection.execute(
                sql.SQL("CREATE TABLE bare (LIKE {} INCLUDING INDEXES)").format(table)
            )
            taken += seconds(lambda: _copy_in(connection, lines))  # noqa: B023 - used at once
            connection.execute("DROP TABLE bare")
    return taken


def _copy_in(
    connection: psycopg.Connection, lines: Sequence[bytes | bytearray | memoryview]
) -> None:
    with connection.cursor().copy("COPY bare FROM STDIN") as copy:
        for line in lines:
            copy.write(line)
