"""What the drains write equals what the model says of the same events in the recorded order."""

from __future__ import annotations

from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING

import pytest

from schemas.events.union import KINDS
from tests.support.pair import Pair, open_pair
from tests.support.streams import Stream

if TYPE_CHECKING:
    from shared.clock import StandingClock
    from shared.settings import Settings


def judge_stream(pair: Pair, stream: Stream, rounds: int = 7, events: int = 18) -> None:
    rnd = stream.rnd
    for _ in range(rounds):
        for _ in range(3):
            pair.send(stream.make(pair.model, events))
            stream.now = pair.clock.move(timedelta(minutes=rnd.randrange(90)))
        pair.drain(rnd)
        pair.assert_equal()
    pair.assert_sound()


@pytest.mark.parametrize(("seed", "batch", "lanes"), [(11, 7, 3), (2, 20, 2), (13, 500, 1)])
def test_random_stream_is_judged_as_the_model_judges_it(
    settings: Settings, clock: StandingClock, seed: int, batch: int, lanes: int
) -> None:
    stream = Stream(Random(seed), clock.now())  # noqa: S311 - a test's luck, the same each time
    with open_pair(settings, clock, drain_batch=batch, lanes=lanes) as pair:
        judge_stream(pair, stream)
    assert stream.made > 300
    assert len({event["kind"] for event in stream.sent}) > len(KINDS) - 3


@pytest.mark.parametrize(("seed", "batch", "lanes"), [(1, 7, 3), (3, 30, 2), (4, 500, 1)])
def test_random_trade_by_quantity_is_judged_as_the_model_judges_it(
    settings: Settings, clock: StandingClock, seed: int, batch: int, lanes: int
) -> None:
    stream = Stream(Random(seed), clock.now(), trades=True)  # noqa: S311 - a test's luck, the same each time
    with open_pair(settings, clock, drain_batch=batch, lanes=lanes) as pair:
        judge_stream(pair, stream, rounds=11, events=50)
    orders = [pair.model.order(order) for order in pair.model.orders]
    lines = [entry for entries in pair.model.orders.values() for entry in entries]
    assert len(orders) > 8
    kinds = {"order", "payment", "release", "passing-on", "clearance", "cancellation"}
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
