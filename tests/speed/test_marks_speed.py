"""The bulk check beside python-stdnum on the same marks in the same run: a ratio, no clock."""

from __future__ import annotations

import time
from collections.abc import Callable

import stdnum.iso6346

from shared import marks_bulk
from tests.support.marks import make_rows, make_texts

LEAST_RATIO = 5


def best_of(repeats: int, work: Callable[[], object]) -> float:
    """Return the shortest of several timings, in seconds."""
    timings = []
    for _ in range(repeats):
        began = time.perf_counter()
        work()
        timings.append(time.perf_counter() - began)
    return min(timings)


def test_bulk_check_is_at_least_five_times_as_fast_as_python_stdnum() -> None:
    texts = make_texts(make_rows(100_000, seed=6, categories="U"))
    found: dict[str, int] = {}

    def ours() -> None:
        found["ours"] = int(marks_bulk.check_marks(texts).ok.sum())

    def theirs() -> None:
        found["theirs"] = sum(map(stdnum.iso6346.is_valid, texts))

    ratio = best_of(2, theirs) / best_of(5, ours)
    assert found["ours"] == found["theirs"] > 9_000
    assert ratio >= LEAST_RATIO
