import os
from collections.abc import Iterator
from datetime import timedelta

import pytest
from celery import Celery
from kombu import pools

from shared.settings import Settings
from shared.task_names import TaskName
from tests.support.depot import BOX, Depot, id_of, lane_of, report
from workers.app import DRAIN_QUEUE, QUEUES, SLOW_QUEUE, create_celery
from workers.means import Means


@pytest.fixture
def app(settings: Settings) -> Iterator[Celery]:
    """The Celery app over the test's own services."""
    made = create_celery(settings)
    yield made
    made.close()
    pools.reset()


@pytest.mark.parametrize("name", list(TaskName))
def test_every_task_name_is_registered_and_has_its_queue(app: Celery, name: TaskName) -> None:
    assert name in app.tasks
    queue = app.amqp.router.route({}, name)["queue"].name
    assert queue == QUEUES[name]


def test_only_draining_is_on_the_drain_queue(app: Celery) -> None:
    assert [name for name, queue in QUEUES.items() if queue == DRAIN_QUEUE] == [TaskName.DRAIN]
    assert set(app.amqp.queues) == {DRAIN_QUEUE, SLOW_QUEUE}


def test_nothing_relies_on_redelivery_and_nothing_but_json_is_read(app: Celery) -> None:
    assert not app.conf.task_acks_late
    assert app.conf.worker_prefetch_multiplier == 1
    assert app.conf.accept_content == ["json"]
    assert app.conf.task_ignore_result


def test_beat_asks_for_sweep_mail_and_round_and_drops_what_nobody_took(settings: Settings) -> None:
    schedule = create_celery(settings.changed(sweep_every_s=0.5)).conf.beat_schedule
    assert {name: entry["schedule"] for name, entry in schedule.items()} == {
        TaskName.SWEEP: timedelta(seconds=0.5),
        TaskName.MAIL: timedelta(seconds=5),
        TaskName.ROUND: timedelta(hours=1),
    }
    for name, entry in schedule.items():
        assert entry["task"] == name
        assert entry["options"]["queue"] == SLOW_QUEUE
        assert entry["options"]["expires"] == entry["schedule"].total_seconds()


def test_limits_stand_above_those_of_the_database(app: Celery, settings: Settings) -> None:
    assert app.conf.task_soft_time_limit > settings.worker_statement_timeout_s
    assert app.conf.task_time_limit > app.conf.task_soft_time_limit


def test_tasks_do_what_their_services_do(app: Celery, depot: Depot) -> None:
    depot.open_depot("NORTH", manager="manager@north.example")
    body = report("gate-in", purpose="customer-box", plate={"next_examination": "2020-01"})
    depot.send(body)
    app.tasks[TaskName.SWEEP]()
    app.tasks[TaskName.DRAIN](lane_of(BOX))
    assert depot.outcomes() == {id_of(body): "recorded"}
    app.tasks[TaskName.ROUND]()
    assert depot.one("SELECT count(*) FROM rounds") == 1
    app.tasks[TaskName.MAIL]()
    assert depot.rows("SELECT state FROM outbox") == [{"state": "sent"}]
    assert len(list((depot.web.settings.home / "mail").iterdir())) == 1


@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")  # what Celery's pool does too
def test_means_are_made_once_in_a_process_and_anew_after_a_fork(
    app: Celery, settings: Settings
) -> None:
    means = Means(app, settings)
    context = means.context()
    assert means.context() is context
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.write(write, b"new" if means.context() is not context else b"same")
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as said:
        assert said.read() == b"new"
    os.waitpid(child, 0)
    context.engine.dispose()
