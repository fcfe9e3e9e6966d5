"""What the processes cost: how soon they answer, and how much memory they take and keep."""

from __future__ import annotations

import time

import psutil

from deploy.bench.bench_house import House
from deploy.bench.bench_stream import bodies
from deploy.bench.recording import hand_in
from deploy.bench.rows import Row
from deploy.run import serving
from deploy.stack import Stack


def measure(house: House, *, events: int) -> list[Row]:
    """Return start-up time, and each part's memory before and after recording `events`."""
    begun = time.perf_counter()
    with serving(house.settings) as stack:
        rows = [Row("the whole stack answers after", time.perf_counter() - begun, "s")]
        before = _memory(stack)
        hand_in(house.web, bodies(events, max(1, events // 10), seed=5))
        house.wait_until_drained()
        after = _memory(stack)
    for part, megabytes in after.items():
        rows.append(
            Row(f"memory of {part} after {events:,} events", megabytes, "MB",
                before[part], "at the start")
        )  # fmt: skip
    return rows


def _memory(stack: Stack) -> dict[str, float]:
    """Return the unshared memory of each part with its children, in MB."""
    return {part.value: _unshared(pid) / 1e6 for part, pid in stack.pids().items()}


def _unshared(pid: int) -> int:
    process = psutil.Process(pid)
    family = [process, *process.children(recursive=True)]
    return sum(member.memory_full_info().uss for member in family)
