"""What the benchmark tells: rows for people and for programs."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import orjson
from rich.console import Console
from rich.table import Table


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement. `target` bounds `ratio` where there is a yardstick, else `ours`.

    `ratio` is ours over the yardstick's. `most` says that smaller is better.
    """

    what: str
    ours: float
    unit: str
    yardstick: float | None = None
    beside: str = ""
    target: float | None = None
    most: bool = False
    units: int | None = None
    """How many units there were, where that is what grows."""

    @property
    def ratio(self) -> float | None:
        """Return ours over the yardstick's, None without one."""
        return None if not self.yardstick else self.ours / self.yardstick

    @property
    def met(self) -> bool | None:
        """Say whether the target is met, None where there is none."""
        if self.target is None:
            return None
        value = self.ours if self.ratio is None else self.ratio
        return value <= self.target if self.most else value >= self.target

    def as_json(self) -> dict[str, Any]:
        """Return the row as it is written to a file."""
        return {**asdict(self), "ratio": self.ratio, "met": self.met}


def write(rows: Sequence[Row], path: Path) -> None:
    """Write rows as a JSON list."""
    told = [row.as_json() for row in rows]
    path.write_bytes(orjson.dumps(told, option=orjson.OPT_INDENT_2) + b"\n")


def show(rows: Sequence[Row], console: Console) -> None:
    """Print rows as a table."""
    table = Table(title="Measured side by side in one run", title_justify="left")
    for heading in ("what", "ours", "unit", "yardstick", "ratio", "target", "met"):
        table.add_column(heading, justify="left" if heading in ("what", "unit") else "right")
    for row in rows:
        bound = "" if row.target is None else f"{'≤' if row.most else '≥'} {row.target:g}"
        met = {None: "", True: "yes", False: "no"}[row.met]
        beside = "" if row.yardstick is None else f"{_round(row.yardstick)} ({row.beside})"
        ratio = "" if row.ratio is None else f"{row.ratio:.2f}"
        table.add_row(row.what, _round(row.ours), row.unit, beside, ratio, bound, met)
    console.print(table)


def seconds(work: Callable[[], object]) -> float:
    """Return how long some work takes by the clock on the wall."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def median_seconds(work: Callable[[], object], repeats: int) -> float:
    """Return the median over several runs of some work."""
    return statistics.median(seconds(work) for _ in range(repeats))


def _round(value: float) -> str:
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"
