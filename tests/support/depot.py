"""A depot in small: contexts of the web and the worker role over one database, and their steps."""

from __future__ import annotations

import contextlib
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import orjson
from sqlalchemy import Engine, create_engine, text

from shared.ids import new_id
from tests.support.marks import make_mark
from tracker.services import accept as accepting
from tracker.services import drain as draining
from tracker.services.context import Announcer, Context, SilentAnnouncer
from tracker.services.unit_view import UnitView, show_unit
from tracker.store import house, intake
from tracker.store import lanes as lanes_of
from tracker.store.engine import make_engine

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from uuid import UUID

    from schemas.verdicts import Receipt
    from shared.clock import Clock
    from shared.settings import Settings

BOX = make_mark("ZZZU300001")
OTHER = make_mark("ZZZU300002")
THIRD = make_mark("HQXU300003")

_NEEDED: dict[str, dict[str, Any]] = {
    "restow": {"slot": "A1-2"},
    "pre-advice": {"batch": "B-7"},
    "sale": {"buyer": "Orin Vale", "intended_use": "storage", "paid": True},
    "reservation": {"buyer": "Orin Vale", "until": "2026-03-09T12:00:00+00:00"},
    "release": {"reference": "COLLECT-71"},
    "correction": {"reason": "misread"},
}


def report(kind: str, mark: str | None = BOX, **others: object) -> bytes:
    """Return one event as it is handed in; `others` replace or add fields, None leaves one out."""
    said = {
        "kind": kind,
        "id": str(new_id()),
        "depot": "NORTH",
        "mark": mark,
        "happened_at": "2026-03-02T07:00:00+00:00",
        "reported_by": "Ada Quill",
        **_NEEDED.get(kind, {}),
        **others,
    }
    return orjson.dumps({name: value for name, value in said.items() if value is not None})


def id_of(body: bytes) -> str:
    """Return the id of an event as it is handed in."""
    found: str = orjson.loads(body)["id"]
    return found


def lane_of(mark: str, lanes: int = 4) -> int:
    """Return the lane of a mark."""
    return lanes_of.lane_of(mark, 1024, lanes)


def marks_of(count: int, owner: str = "ZZZU") -> list[str]:
    """Return `count` right marks."""
    return [make_mark(f"{owner}{serial:06d}") for serial in range(count)]


def wait_until(holds: Callable[[], Any], *, within_s: float = 60, pause_s: float = 0.02) -> Any:  # noqa: ANN401 - what `holds` gives
    """Return what `holds` gives as soon as it is true; fails only long after it should be."""
    stop_at = time.monotonic() + within_s
    while not (found := holds()):
        if time.monotonic() > stop_at:
            raise TimeoutError(f"not within {within_s} s: {holds}")
        time.sleep(pause_s)
    return found


@dataclass(frozen=True, slots=True)
class Depot:
    """What a test does to the system, and looks at behind its back as `owner`."""

    web: Context
    worker: Context
    owner: Engine

    def with_settings(self, **values: object) -> Depot:
        """Return the same depot under other settings."""
        settings = self.web.settings.changed(**values)
        return replace(
            self,
            web=replace(self.web, settings=settings),
            worker=replace(self.worker, settings=settings),
        )

    def with_announcer(self, announcer: Announcer) -> Depot:
        """Return the same depot, its web process announcing by `announcer`."""
        return replace(self, web=replace(self.web, announcer=announcer))

    @contextlib.contextmanager
    def with_limits(self, **limits_ms: int) -> Iterator[Depot]:
        """Provide the same depot, its workers' connections under other limits on time."""
        limits = " ".join(f"-c {name}={limit}" for name, limit in limits_ms.items())
        url = self.worker.engine.url.update_query_dict({"options": limits})
        engine = make_engine(url.render_as_string(hide_password=False), name="test-worker")
        try:
            yield replace(self, worker=replace(self.worker, engine=engine))
        finally:
            engine.dispose()

    def wait_until_blocked(self, count: int = 1) -> None:
        """Wait until so many of the workers' statements wait for a lock."""
        query = (
            "SELECT count(DISTINCT pid) FROM pg_locks JOIN pg_stat_activity USING (pid)"
            " WHERE NOT granted AND datname = current_database()"
        )
        wait_until(lambda: self.one(query) >= count)

    def cut_workers(self) -> None:
        """End the sessions of all workers, as a failing network does."""
        with self.worker.engine.begin() as connection:
            connection.exec_driver_sql(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE usename = current_user AND datname = current_database()"
                " AND pid <> pg_backend_pid()"
            )

    def send(self, *bodies: bytes) -> list[Receipt]:
        """Take events in."""
        return accepting.accept(self.web, bodies)

    def lanes_waiting(self) -> list[int]:
        """Return the lanes that have work."""
        with self.worker.engine.begin() as connection:
            return intake.lanes_waiting(connection)

    def drain_all(self, *, workers: int = 1) -> None:
        """Drain until nothing waits, by as many drains side by side as `workers`."""
        with ThreadPoolExecutor(workers) as pool:
            for done in [pool.submit(self._drain_until_empty) for _ in range(workers)]:
                done.result()

    def _drain_until_empty(self) -> None:
        while lanes := self.lanes_waiting():
            for lane in lanes:
                draining.drain(self.worker, lane)

    def record(self, *bodies: bytes) -> list[Receipt]:
        """Take events in, drain, and return what a sender hears who asks again."""
        self.send(*bodies)
        self.drain_all()
        return self.send(*bodies)

    def show(self, mark: str = BOX, **when: object) -> UnitView:
        """Return a unit as the web process shows it."""
        return show_unit(self.web, mark, **when)

    def rows(self, query: str, **values: object) -> list[dict[str, Any]]:
        """Return rows as the owner sees them."""
        with self.owner.begin() as connection:
            return [dict(row) for row in connection.execute(text(query), values).mappings()]

    def one(self, query: str, **values: object) -> Any:  # noqa: ANN401 - a column
        """Return the one value of a query."""
        (row,) = self.rows(query, **values)
        (value,) = row.values()
        return value

    def tamper(self, *statements: str, **values: object) -> None:
        """Change history as only somebody can who switches its guard off."""
        with self.owner.begin() as connection:
            connection.execute(text("ALTER TABLE history DISABLE TRIGGER USER"))
            for statement in statements:
                connection.execute(text(statement), values)
            connection.execute(text("ALTER TABLE history ENABLE TRIGGER USER"))

    def change(self, statement: str, **values: object) -> int:
        """Change anything else behind the system's back; return how many rows."""
        with self.owner.begin() as connection:
            return connection.execute(text(statement), values).rowcount

    def outcomes(self) -> dict[str, str]:
        """Return the outcome of each event that has its verdict."""
        found = self.rows("SELECT event_id, outcome FROM receipts")
        return {str(row["event_id"]): row["outcome"] for row in found}

    def unit_id(self, mark: str = BOX) -> UUID:
        """Return the unit that a mark means."""
        found: UUID = self.one("SELECT unit_id FROM marks WHERE subject = :mark", mark=mark)
        return found

    def open_depot(self, code: str, zone: str = "UTC", **addresses: str) -> None:
        """Make a depot known, with one address per role."""
        with self.web.engine.begin() as connection:
            house.set_depot(connection, code, code.title(), zone)
            for role, address in addresses.items():
                house.set_contact(connection, code, role, address)


@contextlib.contextmanager
def open_up(settings: Settings, clock: Clock) -> Iterator[Depot]:
    """Provide a depot over the database of `settings`; its connections are closed at the end."""
    databases = settings.databases()
    web, worker = (
        make_engine(url, pool_size=12, name=name)
        for url, name in ((databases.web, "test-web"), (databases.worker, "test-worker"))
    )
    owner = create_engine(databases.owner)
    try:
        yield Depot(
            Context(web, settings, clock, SilentAnnouncer()),
            Context(worker, settings, clock, SilentAnnouncer()),
            owner,
        )
    finally:
        for engine in (web, worker, owner):
            engine.dispose()


def findings_of(receipt: Receipt) -> list[str]:
    """Return the ids of the findings in a receipt's verdict."""
    return [] if receipt.verdict is None else [one.id for one in receipt.verdict.findings]


def states(receipts: Sequence[Receipt]) -> list[str]:
    """Return the state of each receipt."""
    return [receipt.state for receipt in receipts]
