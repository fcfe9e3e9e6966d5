"""The Celery app: its broker, queues, routes, limits and schedule. Tasks are one file each."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Final

from celery import Celery
from celery.signals import setup_logging
from kombu import Exchange, Queue

from shared import addresses
from shared.settings import Settings
from shared.task_names import TaskName
from workers import drain, mail, round, sweep
from workers.means import Means

DRAIN_QUEUE: Final = "drain"
SLOW_QUEUE: Final = "slow"

QUEUES: Final = {
    TaskName.DRAIN: DRAIN_QUEUE,
    TaskName.SWEEP: SLOW_QUEUE,
    TaskName.ROUND: SLOW_QUEUE,
    TaskName.MAIL: SLOW_QUEUE,
}
"""Which queue each task goes to; slow work never stands in the way of verdicts."""


def create_celery(settings: Settings) -> Celery:
    """Return the app for these settings. Starts nothing and connects to nothing."""
    app = Celery("hardstand", broker=addresses.broker_address(str(settings.redis_url)))
    app.conf.update(_configuration(settings))
    means = Means(app, settings)
    drain.register(app, means)
    sweep.register(app, means)
    round.register(app, means)
    mail.register(app, means)
    setup_logging.connect(_leave_logging_alone, weak=False)
    return app


def _configuration(settings: Settings) -> dict[str, Any]:
    return {
        "task_queues": [_queue(DRAIN_QUEUE), _queue(SLOW_QUEUE)],
        "task_default_queue": SLOW_QUEUE,
        "task_routes": {name.value: {"queue": queue} for name, queue in QUEUES.items()},
        "task_serializer": "json",
        "accept_content": ["json"],
        "task_ignore_result": True,
        # Nothing relies on redelivery: what is lost is announced again by the sweep.
        "task_acks_late": False,
        "worker_prefetch_multiplier": 1,
        "broker_connection_retry_on_startup": True,
        "broker_connection_max_retries": None,
        "broker_transport_options": {"socket_timeout": 10, "socket_connect_timeout": 3},
        # Above the database's own timeouts, so that a frozen statement ends first.
        "task_soft_time_limit": 120,
        "task_time_limit": 150,
        "worker_hijack_root_logger": False,
        "worker_enable_remote_control": False,
        "worker_send_task_events": False,
        "timezone": "UTC",
        "beat_schedule": _schedule(settings),
        "beat_schedule_filename": str(settings.home / "beat-schedule"),
    }


def _queue(name: str) -> Queue:
    """Return a queue with an exchange and key of its own; by default all queues share both."""
    return Queue(name, Exchange(name, type="direct"), routing_key=name)


def _schedule(settings: Settings) -> dict[str, dict[str, Any]]:
    """Return what beat asks for. An order nobody took before the next one is dropped."""
    every = {
        TaskName.SWEEP: timedelta(seconds=settings.sweep_every_s),
        TaskName.MAIL: timedelta(seconds=5),
        TaskName.ROUND: timedelta(hours=1),
    }
    return {
        name.value: {
            "task": name.value,
            "schedule": pause,
            "options": {"queue": QUEUES[name], "expires": pause.total_seconds()},
        }
        for name, pause in every.items()
    }


def _leave_logging_alone(**_signal: object) -> None:
    """Keep Celery from setting up logging: `shared.logs` has."""
