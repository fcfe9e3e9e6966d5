"""What a load came to: figures for people and programs, each saying whether it is as it must be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

import orjson
from rich.console import Console
from rich.table import Table

from deploy.load.tally import Tally
from deploy.process import Part


@dataclass(slots=True)
class Outcome:
    """What was seen besides what the clients counted."""

    tally: Tally
    seconds: float = 0.0
    most_waiting: int = 0
    """The most events that waited for a verdict at once."""
    settled_after_s: float = 0.0
    under_way_at_stop: int = 0
    stop_s: float = 0.0
    killed: list[Part] = field(default_factory=list)
    """Parts that did not end by themselves."""
    torn_by_stop: int = 0
    waiting_at_stop: int = 0
    lost_by_stop: int = 0
    unjudged: int = 0
    recorded: int = 0
    history_off: int = 0
    flaws: int = 0
    rebuilt: int = 0
    memory: dict[Part, tuple[float, float, float, float]] = field(default_factory=dict)
    """Start, middle, end and the most in MB, before the stack was stopped."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table. `is_right` is None where nothing is demanded."""

    what: str
    seen: str
    is_right: bool | None = None


def figures(outcome: Outcome) -> list[Figure]:
    """Return the table: first what was done, then what must be nothing, then memory."""
    tally = outcome.tally
    return [
        Figure("seconds of load", f"{outcome.seconds:.0f}"),
        Figure("events with a receipt", f"{len(tally.accepted):,}", bool(tally.accepted)),
        Figure("requests served", f"{sum(map(len, tally.waits.values())):,}"),
        Figure("requests put off, told when to come again", f"{tally.put_off:,}"),
        Figure("POST answered, half within / 99 % within / all within", _waits(tally, "POST")),
        Figure("GET answered, half within / 99 % within / all within", _waits(tally, "GET")),
        Figure("most events that waited for a verdict", f"{outcome.most_waiting:,}"),
        Figure("the last verdict came after", f"{outcome.settled_after_s:.1f} s"),
        Figure("requests under way when it was stopped", f"{outcome.under_way_at_stop:,}"),
        Figure("stopped within", f"{outcome.stop_s:.1f} s"),
        Figure("events waiting while it was stopped", f"{outcome.waiting_at_stop:,}"),
        Figure("connections refused or closed unanswered", f"{tally.not_answered:,}"),
        Figure("events recorded", f"{outcome.recorded:,}"),
        *_nothing(outcome),
        *(
            Figure(f"memory of {part}, start / middle / end / most", _megabytes(course))
            for part, course in outcome.memory.items()
        ),
    ]


def _nothing(outcome: Outcome) -> list[Figure]:
    tally = outcome.tally
    wrong = {
        "put off without being told when to come again": tally.turned_away,
        "answered wrongly": dict(tally.wrong),
        "answers broken off half-way": tally.torn,
        "never answered": tally.silent,
        "processes that had to be killed": [part.value for part in outcome.killed],
        "receipts lost by the stop": outcome.lost_by_stop,
        "receipts without a verdict in the end": outcome.unjudged,
        "events and rows of history that do not match": outcome.history_off,
        "flaws found by verify": outcome.flaws,
        "records that do not follow from their history": outcome.rebuilt,
    }
    return [Figure(what, str(seen or 0), not seen) for what, seen in wrong.items()]


def is_clean(told: Sequence[Figure]) -> bool:
    """Say whether all that is demanded holds."""
    return all(figure.is_right is not False for figure in told)


def show(told: Sequence[Figure], console: Console) -> None:
    """Print the table."""
    table = Table("what", "seen", "as it must be")
    for figure in told:
        says = {None: "", True: "yes", False: "NO"}[figure.is_right]
        table.add_row(figure.what, figure.seen, says, style="red" if says == "NO" else None)
    console.print(table)


def write(told: Sequence[Figure], file: Path) -> None:
    """Write the table as JSON."""
    file.write_bytes(orjson.dumps([asdict(one) for one in told], option=orjson.OPT_INDENT_2))


def _waits(tally: Tally, method: str) -> str:
    return (
        " / ".join(f"{tally.within(method, part) * 1000:,.0f}" for part in (0.5, 0.99, 1)) + " ms"
    )


def _megabytes(course: Sequence[float]) -> str:
    return " / ".join(f"{value:.0f}" for value in course) + " MB"
