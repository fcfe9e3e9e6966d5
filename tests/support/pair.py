"""The drains and the model, fed with the same events and compared."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from random import Random
from typing import TYPE_CHECKING, Any
from uuid import UUID

import orjson
from sqlalchemy import Connection, text

from deploy.faults.model_alerts import AlertDay, standing_alerts
from schemas.events.base import Decision, Fact
from schemas.events.union import EVENT
from schemas.orders import dump_order
from schemas.records import dump_record
from shared.clock import StandingClock
from tests.support.model import Model
from tracker.services import reading
from tracker.services.accept import accept
from tracker.services.context import Context
from tracker.services.daily_round import make_rounds
from tracker.services.drain import drain
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.services.working_set import entry_of
from tracker.store import history, intake, people
from tracker.store import house as houses
from tracker.store.engine import make_engine

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.settings import Settings

_OPEN_ALERTS = "SELECT unit_id::text, kind, cause FROM alerts WHERE cleared_at IS NULL"


@dataclass
class Pair:
    """The real thing and the model, fed with the same events."""

    web: Context
    worker: Context
    clock: StandingClock
    model: Model
    received: dict[str, tuple[Fact | Decision, datetime]] = field(default_factory=dict)

    def send(self, events: list[dict[str, Any]]) -> None:
        """Hand events in, some perhaps again."""
        for receipt in accept(self.web, [orjson.dumps(event) for event in events]):
            assert receipt.accepted, receipt.error
        for event in events:
            read = EVENT.validate_json(orjson.dumps(event))
            self.received.setdefault(event["id"], (read, self.clock.now()))

    def drain(self, rnd: Random) -> None:
        """Drain in random order of lanes, a batch a time; tell the model what was recorded."""
        while self.drain_once(rnd):
            pass

    def drain_once(self, rnd: Random | None) -> bool:
        """Drain one batch of a lane, the first without luck; say whether there was any."""
        waiting = self._lanes()
        if not waiting:
            return False
        self.model.learn_owners()
        report = drain(self.worker, rnd.choice(waiting) if rnd else waiting[0])
        assert (report.held, report.batches) == (0, 1)
        for event_id in report.event_ids:
            self.model.judge(*self.received[str(event_id)])
        return True

    def _lanes(self) -> list[int]:
        with self.worker.engine.connect() as connection:
            return intake.lanes_waiting(connection)

    def assert_equal(self) -> None:
        """Compare all that is kept with all that the model holds."""
        with self.worker.engine.connect() as connection:
            assert self._receipts(connection) == {
                event_id: (one.outcome, one.unit, one.seq, one.findings)
                for event_id, one in self.model.receipts.items()
            }
            found = dict(connection.execute(text("SELECT subject, unit_id::text FROM marks")).all())
            assert found == self.model.meaning
            asked = connection.execute(text("SELECT id::text, unit_id::text FROM questions"))
            assert dict(asked.all()) == self.model.questions()
            bodies = dict(connection.execute(text("SELECT unit_id::text, body FROM records")).all())
            assert sorted(bodies) == sorted(self.model.histories)
            for unit, body in bodies.items():
                expected = orjson.loads(dump_record(self.model.record(unit)))
                assert people.reveal(connection, body) == expected
            placed = dict(connection.execute(text("SELECT order_id::text, body FROM orders")).all())
            assert sorted(placed) == sorted(self.model.orders)
            for order, body in placed.items():
                expected = orjson.loads(dump_order(self.model.order(order)))
                assert people.reveal(connection, body) == expected
            self._assert_histories(connection)

    def _receipts(self, connection: Connection) -> dict[str, Any]:
        query = "SELECT event_id::text, outcome, stream_id::text, seq, findings FROM receipts"
        return {
            row[0]: (row[1], row[2], row[3], row[4] or [])
            for row in connection.execute(text(query))
        }

    def _assert_histories(self, connection: Connection) -> None:
        histories = self.model.histories | self.model.orders
        loaded = history.load(connection, [UUID(stream) for stream in histories])
        for unit, rows in loaded.items():
            found = [people.reveal(connection, entry_of(row).as_override()) for row in rows]
            expected = histories[str(unit)]
            assert found == [entry.as_override() for entry in expected]
            assert [str(row.event_id) for row in rows] == [one.event_id for one in expected]

    def make_rounds(self) -> None:
        """Make the day's rounds; what they hand in by themselves waits like what was sent."""
        depots = {self.model.record(unit).depot for unit in self.model.histories}
        with self.web.engine.begin() as connection:
            for depot in sorted(filter(None, depots)):
                houses.set_depot(connection, depot, depot.title(), "UTC")
        make_rounds(self.worker)
        with self.worker.engine.connect() as connection:
            waiting = connection.execute(text("SELECT event_id::text, body FROM intake")).all()
        for event_id, body in waiting:
            lapse = EVENT.validate_json(orjson.dumps(body))
            self.received.setdefault(event_id, (lapse, self.clock.now()))

    def assert_alerts(self) -> None:
        """Make the rounds of a new day, twice, and compare what stands with what is owed."""
        self.clock.move(timedelta(days=1))
        day = AlertDay(self.clock.now(), self.worker.month_reading, self.worker.settings.alert_days)
        for _ in range(2):
            self.make_rounds()
            while self.drain_once(None):
                pass
        with self.worker.engine.connect() as connection:
            rows = connection.execute(text(_OPEN_ALERTS)).all()
        assert {tuple(row) for row in rows} == set(standing_alerts(self.model, day))

    def assert_sound(self) -> None:
        """Walk all chains and fold all histories anew."""
        assert verify(self.worker).flaws == ()
        checked = rebuild(self.worker, check_only=True)
        assert (checked.units, checked.differing) == (len(self.model.histories), [])
        assert checked.orders == len(self.model.orders)


@contextmanager
def open_pair(settings: Settings, clock: StandingClock, **changed: object) -> Iterator[Pair]:
    """Provide drains that end after one batch, so that the order between lanes is known."""
    settings = settings.changed(drain_budget_ms=1, **changed)
    engines = make_engine(settings.web_database_url), make_engine(settings.worker_database_url)
    web, worker = (Context(engine, settings, clock) for engine in engines)
    try:
        yield Pair(
            web, worker, clock, Model(make_reference=partial(reading.reference_for, web.secret))
        )
    finally:
        for engine in engines:
            engine.dispose()
