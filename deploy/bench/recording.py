"""How fast events are taken in, judged and recorded; beside three other ways to move rows."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence

import psycopg
from psycopg import sql

from deploy import stack
from deploy.bench import job_queue, one_by_one
from deploy.bench.bench_house import House
from deploy.bench.bench_stream import bodies
from deploy.bench.rows import Row, seconds
from deploy.environment import environment_of
from deploy.process import Part
from shared import addresses as spelling
from tracker.services.accept import MOST_AT_ONCE, accept
from tracker.services.context import Context

_PROCESSES = 2
_TABLES = ("history", "heads", "records", "marks", "receipts")


def measure(house: House, *, count: int, units: int, few: int) -> list[Row]:
    """Return the rows about recording.

    Args:
        house: A private, empty database.
        count: How many events to record.
        units: Over how many units.
        few: How many to record one at a time, since that is slow.
    """
    sent = bodies(count * 2 + few, units)
    whole_s = seconds(lambda: _record_all(house, sent[:count]))
    intake_s = seconds(lambda: hand_in(house.web, sent[count : 2 * count]))
    drain_s = seconds(lambda: drain_waiting(house))
    single_s = seconds(lambda: one_by_one.record(house, sent[2 * count :]))
    copied_s = _copy_bare(house)
    queue = job_queue.measure(house, count)
    rows = _count_rows(house)
    both = count / whole_s
    return [
        Row("recorded, intake and drain by Celery workers", both, "events/s",
            few / single_s, "one Celery task and one commit each", 10),
        Row("recorded, the same", both, "events/s", queue.both, "pgqueuer, empty jobs", 0.5),
        Row("drain alone", count / drain_s, "events/s", queue.run, "pgqueuer's run alone", 0.7),
        Row("intake alone", count / intake_s, "events/s", queue.enqueue, "pgqueuer's enqueue"),
        Row("rows written, intake and drain", rows * both / (2 * count), "rows/s",
            rows / copied_s, "COPY of the same rows into bare tables", 1 / 12),
    ]  # fmt: skip


def hand_in(context: Context, sent: Sequence[bytes]) -> None:
    """Take events in, a thousand at a time, as a file is read."""
    for start in range(0, len(sent), MOST_AT_ONCE):
        accept(context, sent[start : start + MOST_AT_ONCE])


def drain_waiting(house: House) -> None:
    """Drain all that waits, in as many processes as the machine has cores."""
    command = [sys.executable, "-m", "deploy.bench.drainer"]
    environment = environment_of(house.settings)
    running = [
        subprocess.Popen(command, env=environment)  # noqa: S603 - our own program
        for _ in range(_PROCESSES)
    ]
    for process in running:
        if process.wait() != 0:
            raise RuntimeError("a drainer failed")


def _record_all(house: House, sent: Sequence[bytes]) -> None:
    """Hand all in while real Celery workers drain; return when nothing waits any more."""
    parts = (Part.DRAIN, Part.SLOW, Part.BEAT)
    with stack.running(house.settings, parts):
        hand_in(house.web, sent)
        house.wait_until_drained()


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
            begun = time.perf_counter()
            with connection.cursor().copy("COPY bare FROM STDIN") as copy:
                for line in lines:
                    copy.write(line)
            taken += time.perf_counter() - begun
            connection.execute("DROP TABLE bare")
    return taken
