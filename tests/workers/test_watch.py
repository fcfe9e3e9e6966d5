"""The watch over a drain worker: what it takes for deafness, and what it does not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import redis

from shared.clock import StandingClock
from tests.support.depot import Depot, report
from workers.watch import Watch


@pytest.fixture
def watch(depot: Depot, redis_url: str) -> Iterator[Watch]:
    with redis.Redis.from_url(redis_url) as broker:
        yield Watch(depot.worker, broker, timedelta(seconds=0.001))


def let_wait(depot: Depot, clock: StandingClock) -> None:
    depot.send(report("gate-in"))
    clock.move(timedelta(minutes=1))


def test_silence_while_work_waits_and_the_broker_answers_is_deafness(
    depot: Depot, watch: Watch, clock: StandingClock
) -> None:
    let_wait(depot, clock)
    assert watch.is_deaf()


def test_silence_is_none_where_nothing_waits(watch: Watch) -> None:
    assert not watch.is_deaf()


def test_orders_that_come_in_are_no_silence(
    depot: Depot, watch: Watch, clock: StandingClock
) -> None:
    let_wait(depot, clock)
    watch.patience = timedelta(seconds=30)
    watch.hear()
    assert not watch.is_deaf()


def test_work_that_just_came_in_is_no_silence(depot: Depot, watch: Watch) -> None:
    depot.send(report("gate-in"))
    assert not watch.is_deaf()


def test_silence_of_a_dead_broker_is_not_the_workers(
    depot: Depot, watch: Watch, clock: StandingClock
) -> None:
    let_wait(depot, clock)
    watch.broker = redis.Redis(unix_socket_path="/nowhere/redis.sock")
    assert not watch.is_deaf()
