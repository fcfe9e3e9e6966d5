"""The watch over a worker: what it takes for deafness, what it does not, and what it does then."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
import redis

from deploy.environment import environment_of
from shared.settings import Settings
from workers.app import DRAIN_QUEUE, SLOW_QUEUE
from workers.watch import Watch

ROOT = Path(__file__).parents[2]
# What Celery's consumer is like once an order in hand could not be acknowledged.
DEAF = """
import sys
from kombu.transport.virtual.base import QoS
QoS.can_consume = lambda self: False
from deploy import process
process.main()
"""


@pytest.fixture
def watch(redis_url: str) -> Iterator[Watch]:
    with redis.Redis.from_url(redis_url) as broker:
        yield Watch(broker, SLOW_QUEUE, timedelta(seconds=0), is_busy=lambda: False)


def let_wait(watch: Watch, queue: str = SLOW_QUEUE) -> None:
    watch.broker.lpush(queue, "an order")


def test_silence_while_orders_wait_is_deafness(watch: Watch) -> None:
    let_wait(watch)
    assert watch.is_deaf()


def test_silence_is_none_where_no_order_waits(watch: Watch) -> None:
    let_wait(watch, DRAIN_QUEUE)
    assert not watch.is_deaf()


def test_orders_that_come_in_are_no_silence(watch: Watch) -> None:
    let_wait(watch)
    watch.patience = timedelta(seconds=30)
    watch.hear()
    assert not watch.is_deaf()


def test_whose_hands_are_full_is_not_deaf_and_has_time_again_afterwards(watch: Watch) -> None:
    let_wait(watch)
    watch.patience = timedelta(seconds=30)
    watch.is_busy = lambda: True
    watch._heard_at -= 3600
    assert not watch.is_deaf()
    watch.is_busy = lambda: False
    assert not watch.is_deaf()
    watch._heard_at -= 3600
    assert watch.is_deaf()


def test_silence_of_a_dead_broker_is_not_the_workers(watch: Watch) -> None:
    let_wait(watch)
    watch.broker = redis.Redis(unix_socket_path="/nowhere/redis.sock")
    assert not watch.is_deaf()


@pytest.mark.parametrize("queue", [DRAIN_QUEUE, SLOW_QUEUE])
def test_worker_that_has_gone_deaf_ends_once_orders_wait(
    settings: Settings, redis_url: str, queue: str
) -> None:
    settings.home.mkdir(parents=True)
    worker = subprocess.Popen(
        [sys.executable, "-c", DEAF, queue],
        cwd=ROOT,
        env=environment_of(settings.changed(worker_deaf_after_s=0.5)) | {"PYTHONPATH": str(ROOT)},
        stderr=subprocess.PIPE,
    )
    try:
        with pytest.raises(subprocess.TimeoutExpired):
            worker.wait(4)
        with redis.Redis.from_url(redis_url) as broker:
            broker.lpush(queue, "{}")
        said = worker.communicate(timeout=60)[1]
    finally:
        worker.kill()
    assert worker.returncode == -signal.SIGKILL
    assert b"worker.deaf" in said
