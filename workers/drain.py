"""The task that drains a lane."""

from __future__ import annotations

import psycopg
from celery import Celery
from sqlalchemy.exc import OperationalError

from shared.task_names import TaskName
from tracker.services import drain as service
from workers.means import Means


def register(app: Celery, means: Means) -> None:
    """Register the task under its name."""

    def drain(lane: int) -> None:
        """Drain one lane. Run twice, the second finds less to do; dying, it leaves all waiting."""
        service.drain(means.context(), lane)

    app.task(
        shared=False,
        name=TaskName.DRAIN,
        # The server, the disk or the network: the events wait, and so does the order.
        autoretry_for=(OperationalError, psycopg.OperationalError),
        retry_backoff=1,
        retry_backoff_max=60,
        retry_jitter=True,
        max_retries=8,
    )(drain)
