"""Ratios of one run with wide limits: what falls below them lost its design, not its luck.

The benchmark measures the same with a whole stack and many events; see docs/speed.md.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING
from uuid import UUID

from deploy.bench import one_by_one
from deploy.bench.bench_stream import LiveStream
from tests.support.depot import BOX, id_of, report
from tracker.services.accept import accept
from tracker.services.drain import drain
from tracker.store import history, marks

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.support.depot import Depot

LEAST_GAIN = 4
"""Batches were seen to be 15 to 40 times as fast as one commit per event."""

MOST_OVER_SQL = 15
"""Showing a unit was seen to take about 3 times as long as reading its rows."""


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def test_batches_are_many_times_as_fast_as_one_commit_per_event(depot: Depot) -> None:
    alone = depot.with_settings(lanes=1)
    stream = LiveStream(300)
    accept(alone.web, stream.next(200))
    drain(alone.worker, 0)
    few, many = stream.next(60), stream.next(900)
    accept(alone.web, few)

    def judge_each() -> None:
        for body in few:
            one_by_one.judge_one(alone.worker, UUID(id_of(body)))

    single_s = seconds(judge_each) / len(few)
    accept(alone.web, many)
    batch_s = seconds(lambda: drain(alone.worker, 0)) / len(many)
    assert alone.lanes_waiting() == []
    assert single_s / batch_s >= LEAST_GAIN


def test_showing_a_unit_takes_a_few_times_as_long_as_reading_its_rows(depot: Depot) -> None:
    depot.record(*[report("restow", slot=f"A{number}-1") for number in range(20)])

    def read_rows() -> object:
        with depot.web.engine.begin() as connection:
            return history.load(connection, [marks.resolve(connection, [BOX])[BOX]])

    shown_s = min(seconds(depot.show) for _ in range(15))
    read_s = min(seconds(read_rows) for _ in range(15))
    assert shown_s / read_s <= MOST_OVER_SQL
