"""What a fault is injected into: a private database, the processes of the stack, a stream."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import psutil
from sqlalchemy import Connection, Engine, create_engine, text
from sqlalchemy.exc import DBAPIError

from deploy import stack
from deploy.bench.bench_house import House
from deploy.faults.fault_stream import FaultStream
from deploy.faults.servers import Servers
from deploy.process import Part
from deploy.stack import Stack
from shared.addresses import Role
from shared.clock import Clock
from tracker.services.accept import accept
from tracker.services.context import Context
from tracker.services.drain_all import drain_all
from tracker.store import house as houses

PATIENCE_S: Final = 300
"""How long anything may take before a row is given up; far longer than it should."""

_POLL_S: Final = 0.02
_RESEND_AFTER_S: Final = 0.2
_BLOCKED: Final = (
    "SELECT count(DISTINCT pid) FROM pg_locks JOIN pg_stat_activity USING (pid)"
    " WHERE NOT granted AND datname = current_database() AND usename = '{}'"
)


class FaultRunError(Exception):
    """A row cannot be finished: what was waited for did not come."""


@dataclass(slots=True)
class Scene:
    """One row's means. The main thread injects; events are sent by another."""

    servers: Servers
    house: House
    owner: Engine
    stream: FaultStream
    web: Context
    """By which events are taken in; its announcer is the row's affair."""
    pause_s: float
    """How long a server stays away."""
    rest: list[bytes] = field(default_factory=list)
    """What is sent while the fault comes."""
    opening: int = 0
    running: Stack | None = None
    given_up: threading.Event = field(default_factory=threading.Event)
    """Nobody waits for the sender any more."""

    worker: Context = field(init=False)

    def __post_init__(self) -> None:
        """Work by the house's own means until told otherwise."""
        self.worker = self.house.worker

    def stand(self, clock: Clock) -> None:
        """Go by another clock in this process."""
        self.web, self.worker = replace(self.web, clock=clock), replace(self.worker, clock=clock)

    def begin(self) -> None:
        """Send and judge the first part, and make ready what is sent while the fault comes."""
        for depot in ("NORTH", "SOUTH"):
            with self.web.engine.begin() as connection:
                houses.set_depot(connection, depot, depot.title(), "UTC")
                houses.set_contact(connection, depot, "manager", f"{depot.lower()}@example.org")
        opening = self.stream.opening()
        self.opening = len(opening)
        self.send(opening)
        self.drain()
        first, rest = self.stream.halves()
        self.send(first)
        self.drain()
        with self.owner.begin() as connection:
            asked = connection.execute(text("SELECT id::text FROM questions ORDER BY id LIMIT 40"))
            questions = list(asked.scalars())
        # Settled first, so that what is in flight meets it.
        self.rest = [*self.stream.settling(questions, first), *rest]

    def send(self, sent: Sequence[bytes]) -> None:
        """Hand events in, lot by lot; a lot that gets no answer is sent again until it does."""
        for lot in self.stream.lots(sent):
            self._send_lot(lot)

    def _send_lot(self, lot: Sequence[bytes]) -> None:
        while not self.given_up.is_set():
            try:
                receipts = accept(self.web, lot)
            except DBAPIError:
                time.sleep(_RESEND_AFTER_S)
                continue
            if wrong := [receipt.error for receipt in receipts if receipt.error]:
                raise FaultRunError(f"an event was not taken: {wrong[0]}")
            return

    def drain(self) -> None:
        """Judge all that waits in this process."""
        while self.count_waiting():
            drain_all(self.worker)

    @contextlib.contextmanager
    def sending(self, send: Callable[[Sequence[bytes]], None] | None = None) -> Iterator[None]:
        """Send the rest by a thread of its own; return when it has been sent."""
        fallen: list[BaseException] = []

        def run() -> None:
            try:
                (send or self.send)(self.rest)
            except BaseException as fault:  # noqa: BLE001 - told by the main thread
                fallen.append(fault)

        sender = threading.Thread(target=run, name="sender")
        sender.start()
        try:
            yield
            self.until(lambda: not sender.is_alive(), "everything sent")
        finally:
            self.given_up.set()
            sender.join()
            self.given_up.clear()
        if fallen:
            raise FaultRunError("the sender fell") from fallen[0]

    @contextlib.contextmanager
    def held_in_mid_transaction(self, workers: int = 1) -> Iterator[Connection]:
        """Keep drains waiting in mid-transaction, their lanes held, until the context ends.

        Entered when so many of them wait.
        """
        with self.owner.connect() as connection:
            connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
            self.until(lambda: self.count_blocked() >= workers, f"{workers} drains held")
            yield connection

    def count_blocked(self, role: Role = Role.WORKER) -> int:
        """Return how many transactions of a role wait for a lock."""
        return self.count(_BLOCKED.format(role.value))

    def count_waiting(self) -> int:
        """Return how many events wait for a verdict."""
        return self.count("SELECT count(*) FROM intake WHERE state = 'waiting'")

    def count_judged(self) -> int:
        """Return how many events have one."""
        return self.count("SELECT count(*) FROM receipts")

    def count(self, query: str) -> int:
        """Return the one number of a query, asked as the owner."""
        with self.owner.begin() as connection:
            return int(connection.execute(text(query)).scalar_one())

    def count_lost(self) -> int:
        """Return how many announcements its announcer lost, where it loses some."""
        return int(getattr(self.web.announcer, "lost", 0))

    def await_verdicts(self) -> None:
        """Return when everything that was sent has its verdict and nothing waits."""
        self.until(lambda: self.count_waiting() == 0, "all verdicts")

    def until(self, holds: Callable[[], object], what: str) -> None:
        """Wait until something holds, starting dead processes again as `hardstand serve` does.

        Raises:
            FaultRunError: It does not come to hold.
        """
        give_up_at = time.monotonic() + PATIENCE_S
        while not self._holds(holds):
            if time.monotonic() > give_up_at:
                raise FaultRunError(f"not within {PATIENCE_S} s: {what}")
            if self.running is not None:
                self.running.revive()
            time.sleep(_POLL_S)

    @staticmethod
    def _holds(holds: Callable[[], object]) -> bool:
        try:
            return bool(holds())
        except DBAPIError:
            return False  # the database is away for now

    def pid(self, part: Part) -> int:
        """Return the number of a process of the stack, dead or alive."""
        if self.running is None:
            raise FaultRunError(f"{part} does not run")
        return self.running.pids()[part]

    def process(self, part: Part) -> psutil.Process:
        """Return a process of the stack that lives, or died just now."""
        return psutil.Process(self.pid(part))

    def children(self, part: Part) -> list[psutil.Process]:
        """Return the worker processes below one, once there are any."""
        parent = self.process(part)
        self.until(parent.children, f"{part} with children")
        return sorted(parent.children(), key=lambda one: one.pid)

    @contextlib.contextmanager
    def stack(self, parts: Iterable[Part]) -> Iterator[None]:
        """Run parts of the stack for as long as the context lasts."""
        wanted = tuple(parts)
        if not wanted:
            yield
            return
        with stack.running(self.house.settings, wanted) as running:
            self.running = running
            try:
                yield
            finally:
                self.running = None


@contextlib.contextmanager
def open_scene(servers: Servers, house: House, events: int, pause_s: float) -> Iterator[Scene]:
    """Provide a scene over a private database."""
    servers.flush_redis()
    owner = create_engine(house.databases.owner, pool_pre_ping=True)
    try:
        yield Scene(servers, house, owner, FaultStream(events), house.web, pause_s)
    finally:
        owner.dispose()
