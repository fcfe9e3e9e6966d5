"""What the drains write equals what the model says of the same events in the recorded order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from random import Random
from typing import Any
from uuid import UUID

import orjson
import pytest
from sqlalchemy import Connection, text

from schemas.events.base import Decision, Fact
from schemas.events.union import EVENT, KINDS
from schemas.orders import dump_order
from schemas.records import dump_record
from shared.clock import StandingClock
from shared.settings import Settings
from tests.support.model import Model
from tests.support.streams import Stream
from tracker.services import reading
from tracker.services.accept import accept
from tracker.services.context import Context
from tracker.services.drain import drain
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.services.working_set import entry_of
from tracker.store import history, intake, people
from tracker.store.engine import make_engine


@dataclass
class Pair:
    """The real thing and the model, fed with the same events."""

    web: Context
    worker: Context
    clock: StandingClock
    model: Model
    received: dict[str, tuple[Fact | Decision, datetime]]

    def send(self, events: list[dict[str, Any]]) -> None:
        """Hand events in, some perhaps again."""
        for receipt in accept(self.web, [orjson.dumps(event) for event in events]):
            assert receipt.accepted, receipt.error
        for event in events:
            read = EVENT.validate_json(orjson.dumps(event))
            self.received.setdefault(event["id"], (read, self.clock.now()))

    def drain(self, rnd: Random) -> None:
        """Drain in random order of lanes, a batch a time; tell the model what was recorded."""
        while waiting := self._lanes():
            self.model.learn_owners()
            report = drain(self.worker, rnd.choice(waiting))
            assert (report.held, report.batches) == (0, 1)
            for event_id in report.event_ids:
                self.model.judge(*self.received[str(event_id)])

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


@pytest.fixture
def pair(settings: Settings, clock: StandingClock) -> Iterator[Pair]:
    engines = make_engine(settings.web_database_url), make_engine(settings.worker_database_url)
    web, worker = (Context(engine, settings, clock) for engine in engines)
    model = Model(make_reference=partial(reading.reference_for, web.secret))
    yield Pair(web, worker, clock, model, {})
    for engine in engines:
        engine.dispose()


def with_settings(pair: Pair, **values: object) -> None:
    settings = pair.web.settings.changed(**values)
    pair.web = Context(pair.web.engine, settings, pair.clock)
    pair.worker = Context(pair.worker.engine, settings, pair.clock)


def judge_stream(pair: Pair, stream: Stream, *, batch: int, lanes: int, events: int = 18) -> None:
    # A drain without time ends after one batch, so that the order between lanes is known.
    with_settings(pair, drain_batch=batch, lanes=lanes, drain_budget_ms=1)
    rnd = stream.rnd
    for _ in range(7):
        for _ in range(3):
            pair.send(stream.make(pair.model, events))
            stream.now = pair.clock.move(timedelta(minutes=rnd.randrange(90)))
        pair.drain(rnd)
        pair.assert_equal()
    assert verify(pair.worker).flaws == ()
    checked = rebuild(pair.worker, check_only=True)
    assert (checked.units, checked.differing) == (len(pair.model.histories), [])
    assert checked.orders == len(pair.model.orders)


@pytest.mark.parametrize(("seed", "batch", "lanes"), [(11, 7, 3), (2, 20, 2), (13, 500, 1)])
def test_random_stream_is_judged_as_the_model_judges_it(
    pair: Pair, seed: int, batch: int, lanes: int
) -> None:
    stream = Stream(seed, pair.clock.now())
    judge_stream(pair, stream, batch=batch, lanes=lanes)
    assert stream.made > 300
    assert len({event["kind"] for event in stream.sent}) > len(KINDS) - 3


@pytest.mark.parametrize(("seed", "batch", "lanes"), [(1, 7, 3), (8, 30, 2), (8, 500, 1)])
def test_random_trade_by_quantity_is_judged_as_the_model_judges_it(
    pair: Pair, seed: int, batch: int, lanes: int
) -> None:
    stream = Stream(seed, pair.clock.now(), trades=True)
    judge_stream(pair, stream, batch=batch, lanes=lanes, events=34)
    orders = [pair.model.order(order) for order in pair.model.orders]
    lines = [entry for entries in pair.model.orders.values() for entry in entries]
    assert len(orders) > 8
    kinds = {"order", "release", "passing-on", "clearance", "cancellation"}
    assert {entry.kind for entry in lines} == kinds
    assert sum("allots" in entry.resolved for entry in lines) > 2
    assert sum("returns" in entry.resolved for entry in lines) > 0
    refused = {
        one["id"]
        for receipt in pair.model.receipts.values()
        if receipt.outcome == "refused"
        for one in receipt.findings
    }
    assert {"order.too-few-in-stock", "order.unit-does-not-fit", "clearance.used-up"} <= refused
