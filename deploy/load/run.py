"""Run a load against the whole stack on servers of its own: `hardstand bench load`."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from rich.console import Console
from sqlalchemy import Connection, create_engine, text

from deploy.bench.bench_house import House, house
from deploy.faults.servers import run_servers
from deploy.faults.table import free_port
from deploy.load.crowd import Crowd
from deploy.load.memory import MemoryWatch
from deploy.load.outcome import Outcome, figures, show, write
from deploy.process import Part
from deploy.run import await_web, serving
from deploy.services import Addresses
from deploy.stack import Stack
from shared.settings import Settings
from tracker.services.actor import Scope
from tracker.services.keys import add_key
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.store import house as houses

PATIENCE_S: Final = 600
"""How long the last verdicts may take before the run is given up."""

_LOOK_EVERY_S: Final = 0.1
_SAMPLE_EVERY_S: Final = 2.0
_STOP_AT: Final = 0.75
"""After which part of the time the stack is stopped, and started again."""

_PROMISED: Final = (
    "SELECT count(*) FROM unnest(CAST(:ids AS uuid[])) AS sent (id)"
    " WHERE NOT EXISTS (SELECT FROM intake WHERE event_id = id)"
    " AND NOT EXISTS (SELECT FROM receipts WHERE event_id = id)"
)
_JUDGED: Final = (
    "SELECT count(*) FILTER (WHERE outcome IN ('recorded', 'refused')) FROM receipts"
    " WHERE event_id = ANY(CAST(:ids AS uuid[]))"
)


class LoadError(Exception):
    """A load cannot be finished: what was waited for did not come."""


@dataclass(slots=True)
class Extent:
    """How much load: for so long, or until so many events were sent."""

    clients: int
    seconds: float
    events: int


@dataclass(slots=True)
class _Load:
    """One load under way. The main thread watches, stops and starts; the crowd has its own."""

    house: House
    stack: Stack
    crowd: Crowd
    outcome: Outcome
    memory: MemoryWatch = field(default_factory=MemoryWatch)
    _sample_at: float = 0.0

    def watch(self, until: Callable[[], bool], *, sampling: bool = False) -> None:
        """Look on until something holds or the clients have no more to do."""
        while self.crowd.is_going and not until():
            self.stack.revive()
            if sampling and time.monotonic() >= self._sample_at:
                self.memory.look(self.stack.pids())
                self._sample_at = time.monotonic() + _SAMPLE_EVERY_S
            self.outcome.most_waiting = max(self.outcome.most_waiting, self._count_waiting())
            time.sleep(_LOOK_EVERY_S)

    def stop_and_start(self) -> None:
        """Stop everything in mid-load; see that what was promised is there; start again."""
        tally, outcome = self.crowd.tally, self.outcome
        outcome.under_way_at_stop = self.crowd.under_way
        torn, begun = tally.torn, time.monotonic()
        outcome.killed = self.stack.stop()
        outcome.stop_s = time.monotonic() - begun
        outcome.torn_by_stop = tally.torn - torn
        promised = list(tally.accepted)
        with self.house.web.engine.begin() as connection:
            outcome.lost_by_stop = _count(connection, _PROMISED, promised)
            outcome.waiting_at_stop = self._count_waiting()
        self.stack.start(tuple(Part))
        await_web(self.house.settings, self.stack)

    def settle(self) -> None:
        """Wait for the last verdicts, and compare with what the clients were promised."""
        begun, outcome = time.monotonic(), self.outcome
        while self._count_waiting():
            self.stack.revive()
            if time.monotonic() - begun > PATIENCE_S:
                raise LoadError(f"not within {PATIENCE_S} s: all verdicts")
            time.sleep(_LOOK_EVERY_S)
        outcome.settled_after_s = time.monotonic() - begun

    def compare(self) -> None:
        """Count what was promised and not kept, once the stack is stopped."""
        ids, outcome = list(self.crowd.tally.accepted), self.outcome
        owner = create_engine(self.house.databases.owner)
        with owner.begin() as connection:
            outcome.unjudged = len(ids) - _count(connection, _JUDGED, ids)
            recorded = _count(connection, "SELECT count(*) FROM receipts WHERE outcome='recorded'")
            rows = _count(connection, "SELECT count(*) FROM history")
            events = _count(connection, "SELECT count(DISTINCT event_id) FROM history")
            outcome.recorded = recorded
            outcome.history_off = abs(recorded - events) + abs(rows - events)
        owner.dispose()
        outcome.flaws = len(verify(self.house.worker).flaws)
        outcome.rebuilt = len(rebuild(self.house.worker, check_only=True).differing)

    def _count_waiting(self) -> int:
        with self.house.web.engine.begin() as connection:
            return _count(connection, "SELECT count(*) FROM intake WHERE state = 'waiting'")


def run_load(settings: Settings, extent: Extent, json: Path | None) -> Outcome:
    """Put load on a stack of its own, print the table, and write it to `json` where one is given.

    Raises:
        LoadError: The run cannot be finished.
    """
    say = Console(stderr=True)
    with (
        tempfile.TemporaryDirectory(prefix="hardstand-load-") as folder,
        run_servers(settings, Path(folder) / "home") as servers,
    ):
        say.print(f"{extent.clients} clients for {extent.seconds:.0f} s …")
        outcome = put_load(servers.provided, extent)
    show(figures(outcome), Console())
    if json is not None:
        write(figures(outcome), json)
    return outcome


def put_load(provided: Addresses, extent: Extent) -> Outcome:
    """Put load on a stack over a private database, stop it in mid-load, and count the cost.

    Call from the main thread, since processes end with the thread that started them.

    Raises:
        LoadError: It cannot be finished.
    """
    own = Addresses(
        provided.database_url,
        provided.redis_url,
        provided.databases,
        provided.settings.changed(web_port=free_port()),
    )
    with house(own, "load") as depot:
        for code in ("NORTH", "SOUTH"):
            with depot.web.engine.begin() as connection:
                houses.set_depot(connection, code, code.title(), "UTC")
        key = add_key(depot.web, "load", scopes=[Scope.REPORT, Scope.READ], depots=["*"])
        where = depot.settings.web_host, depot.settings.web_port
        crowd = Crowd(*where, key, extent.clients, extent.events)
        load = _Load(depot, Stack(depot.settings), crowd, Outcome(crowd.tally))
        with serving(depot.settings) as load.stack:
            _run(load, extent)
        load.compare()
        load.outcome.memory = {part: load.memory.course(part) for part in Part}
        depot.forget_pools()
    return load.outcome


def _run(load: _Load, extent: Extent) -> None:
    begun, tally = time.monotonic(), load.crowd.tally
    load.crowd.start()
    try:
        load.watch(
            lambda: (
                time.monotonic() - begun > extent.seconds * _STOP_AT
                or len(tally.accepted) > extent.events * _STOP_AT
            ),
            sampling=True,
        )
        load.stop_and_start()
        load.watch(lambda: time.monotonic() - begun > extent.seconds)
    finally:
        load.crowd.finish()
    load.outcome.seconds = time.monotonic() - begun
    load.settle()


def _count(connection: Connection, query: str, ids: list[str] | None = None) -> int:
    return int(connection.execute(text(query), {} if ids is None else {"ids": ids}).scalar_one())
