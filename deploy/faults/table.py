"""The faults there are, run one by one; each gives a row."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import orjson
from rich.console import Console
from rich.table import Table

from deploy.bench.bench_house import house
from deploy.faults import cutting, killing
from deploy.faults.announcers import LosingAnnouncer
from deploy.faults.comparing import Comparison, compare
from deploy.faults.mailbox import Manner
from deploy.faults.scene import Scene, open_scene
from deploy.faults.servers import Servers
from deploy.process import Part

_DRAINING: Final = (Part.DRAIN, Part.SLOW, Part.BEAT)
# Small batches and short drains, so that much is in flight; a frozen worker is given up soon.
_HURRIED: Final = MappingProxyType(
    {"sweep_every_s": 0.5, "drain_batch": 60, "drain_budget_ms": 50, "web_sweep_every_s": 0}
)
_ALL: Final = 1.0
_HALF: Final = 0.5


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what runs, how it is injected, which part of the announcements is lost."""

    name: str
    inject: Callable[[Scene], str]
    parts: tuple[Part, ...] = _DRAINING
    loses: float = 0.0
    settings: Mapping[str, Any] = field(default_factory=dict)


FAULTS: Final = (
    Fault("kill -9 of a drain child", killing.kill_drain_child),
    Fault("kill -9 of the drain parent", killing.kill_drain_parent),
    Fault("kill -9 of the slow worker", killing.kill_slow_worker, loses=_ALL),
    Fault("kill -9 of the web process", killing.kill_web, parts=(*_DRAINING, Part.WEB)),
    Fault("kill -9 of beat", killing.kill_beat, loses=_ALL),
    Fault("FLUSHALL", cutting.empty_redis),
    Fault("Redis stopped and restarted", cutting.stop_redis),
    Fault("PostgreSQL crashed and restarted", cutting.crash_postgres),
    Fault("connections cut in mid-transaction", cutting.cut_connections),
    Fault("mail server refuses", cutting.mail_fault(Manner.REFUSES), (Part.DRAIN,)),
    Fault("mail server is slow", cutting.mail_fault(Manner.IS_SLOW), (Part.DRAIN,)),
    Fault("mail server fails after DATA", cutting.mail_fault(Manner.FALLS_SILENT), (Part.DRAIN,)),
    Fault("clock set back", cutting.set_clock_back, parts=()),
    Fault("announcements repeated", killing.repeat_announcements),
    Fault("two sweeps at once", cutting.sweep_twice),
    Fault(
        "worker frozen while it holds a lane",
        killing.freeze_drain_child,
        settings={"idle_in_transaction_timeout_s": 1},
    ),
    Fault(
        "beat and slow worker dead",
        killing.leave_to_web,
        parts=(Part.DRAIN, Part.WEB),
        loses=_ALL,
        settings={"web_sweep_every_s": 0.5},
    ),
    Fault("an event that kills its worker", killing.kill_by_event, parts=()),
    Fault("announcements dropped at random", cutting.send_only, loses=_HALF),
    Fault("disk full for the photo store", cutting.fill_disk),
)
"""Every fault, in the order of the table."""


@dataclass(frozen=True, slots=True)
class FaultRow:
    """What one fault came to."""

    fault: str
    events: int
    comparison: Comparison | None
    """None where the row could not be finished; the note says why."""
    seconds: float
    note: str

    @property
    def is_clean(self) -> bool:
        """Whether nothing is wrong."""
        return self.comparison is not None and self.comparison.is_clean


def run_fault(servers: Servers, fault: Fault, *, events: int, pause_s: float) -> FaultRow:
    """Inject one fault while events are in flight, wait for all verdicts, and compare.

    Call from the main thread, since servers and processes end with the thread that started them.

    Raises:
        FaultRunError: The row cannot be finished.
    """
    begun = time.monotonic()
    changes = {**_HURRIED, **fault.settings, "web_port": free_port()}
    provided = replace(servers.provided, settings=servers.provided.settings.changed(**changes))
    with (
        house(provided, "faults") as depot,
        open_scene(servers, depot, events, pause_s) as scene,
    ):
        scene.begin()
        with scene.stack(fault.parts), _announcing(scene, fault.loses):
            note = fault.inject(scene)
            scene.await_verdicts()
        comparison = compare(scene.worker, scene.stream, scene.opening)
        depot.forget_pools()
    took = round(time.monotonic() - begun, 1)
    return FaultRow(fault.name, len(scene.stream.sent), comparison, took, note)


@contextlib.contextmanager
def _announcing(scene: Scene, loses: float) -> Iterator[None]:
    announcer = killing.make_announcer(scene)
    told = LosingAnnouncer(announcer, loses) if loses else announcer
    scene.web = replace(scene.web, announcer=told)
    try:
        yield
    finally:
        announcer.stop()


def free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def show(rows: list[FaultRow], console: Console) -> None:
    """Print the table."""
    table = Table("fault", "events", "lost", "twice", "differs", "verify", "rebuild", "s", "note")
    for row in rows:
        cells = (row.fault, str(row.events), *_counts(row), f"{row.seconds:.0f}", row.note)
        table.add_row(*cells, style=None if row.is_clean else "red")
    console.print(table)


def _counts(row: FaultRow) -> tuple[str, ...]:
    found = row.comparison
    if found is None:
        return ("?",) * 5
    counts = (found.lost, found.twice, len(found.differing), found.flaws, found.rebuilt)
    return tuple(map(str, counts))


def write(rows: list[FaultRow], file: Path) -> None:
    """Write the rows as JSON."""
    told = [asdict(row) | {"clean": row.is_clean} for row in rows]
    file.write_bytes(orjson.dumps(told, option=orjson.OPT_INDENT_2))
