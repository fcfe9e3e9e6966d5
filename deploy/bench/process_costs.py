"""What the processes cost: how soon they answer, and how much memory they take and keep."""

from __future__ import annotations

import time

import psutil

from deploy.bench.bench_house import House
from deploy.bench.bench_stream import LiveStream
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
        hand_in(house.web, LiveStream(max(1, events // 10), seed=5).next(events))
        house.wait_until_drained()
        after = _memory(stack)
    for part, megabytes in after.items():
        rows.append(
            Row(f"memory of {part} after {events:,} events", megabytes, "MB",
                before[part], "at the start")
        )  # fmt: skip
    return rows


def unshared_mb(pid: int) -> float:
    """Return what would be freed if a process and its children ended, in MB; 0 if it is dead."""
    try:
        process = psutil.Process(pid)
        family = [process, *process.children(recursive=True)]
    except psutil.NoSuchProcess:
        return 0.0
    return sum(map(_unshared, family)) / 1e6


def _memory(stack: Stack) -> dict[str, float]:
    return {part.value: unshared_mb(pid) for part, pid in stack.pids().items()}


def _unshared(process: psutil.Process) -> int:
    try:
        return int(process.memory_full_info().uss)
    except psutil.NoSuchProcess:
        return 0
