"""The app's queues, routes and schedule, without a broker."""

from __future__ import annotations

import pytest
from celery import Celery

from shared.settings import Settings
from shared.task_names import TaskName
from workers.app import QUEUES, create_celery


@pytest.fixture
def app(settings: Settings) -> Celery:
    return create_celery(settings)


def test_each_queue_has_an_exchange_and_a_key_of_its_own(app: Celery) -> None:
    queues = app.amqp.queues
    names = {(queue.exchange.name, queue.routing_key) for queue in queues.values()}
    assert names == {("drain", "drain"), ("slow", "slow")}


@pytest.mark.parametrize("name", TaskName)
def test_every_task_is_registered_and_routed(app: Celery, name: TaskName) -> None:
    assert name.value in app.tasks
    assert app.amqp.router.route({}, name.value)["queue"].name == QUEUES[name]
