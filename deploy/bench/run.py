"""Run the benchmark: the standard set, or a quick one whose ratios CI looks at."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from rich.console import Console

from deploy import services
from deploy.bench import marks, paint, process_costs, reads, recording, waiting
from deploy.bench.bench_house import house
from deploy.bench.rows import Row, show, write
from shared.settings import Settings


@dataclass(frozen=True, slots=True)
class Extent:
    """How much is measured."""

    events: int
    repeats: int
    units: int
    few: int
    sizes: tuple[int, ...]
    seconds: int
    rates: tuple[int, ...]
    file_lines: int
    marks: int
    painted: int = 0
    """Units in stock while pages are looked at in a browser; none, and no browser is needed."""


STANDARD: Final = Extent(
    20_000, 3, 20_000, 600, (10_000, 100_000, 1_000_000), 15, (50, 200), 50_000, 1_000_000, 100_000
)
LONG: Final = Extent(
    50_000,
    5,
    20_000,
    2000,
    (10_000, 100_000, 1_000_000),
    60,
    (50, 200),
    100_000,
    1_000_000,
    100_000,
)
QUICK: Final = Extent(4000, 1, 2000, 150, (2000, 20_000), 4, (25,), 5000, 100_000)


def measure(settings: Settings, extent: Extent, say: Console) -> list[Row]:
    """Return all rows of an extent, on servers with everything as in production."""
    rows: list[Row] = []
    with services.provide(settings) as provided:
        say.print("Recording …")
        with house(provided, "bench_recording") as depot:
            rows += recording.measure(
                depot,
                count=extent.events,
                units=extent.units,
                few=extent.few,
                repeats=extent.repeats,
            )
        say.print("Waiting for verdicts …")
        with house(provided, "bench_waiting") as depot:
            rows += waiting.measure(
                depot,
                seconds=extent.seconds,
                rates=extent.rates,
                file_lines=extent.file_lines,
            )
        say.print("Reading as stock grows …")
        with house(provided, "bench_reads") as depot:
            today = depot.web.clock.now().date()
            rows += reads.measure(depot, list(extent.sizes), today)
        if extent.painted:
            say.print("Looking at pages …")
            with house(provided, "bench_paint") as depot:
                rows += paint.measure(depot, extent.painted, depot.web.clock.now().date())
        say.print("Marks, memory …")
        rows.append(marks.measure(extent.marks))
        with house(provided, "bench_costs") as depot:
            rows += process_costs.measure(depot, events=extent.events)
    return rows


def bench(settings: Settings, extent: Extent, json: Path | None) -> list[Row]:
    """Measure, print the table, and write the rows to `json` where one is given."""
    console = Console(stderr=True)
    rows = measure(settings, extent, console)
    show(rows, Console())
    if json is not None:
        write(rows, json)
    return rows
