"""The task that makes the daily round."""

from __future__ import annotations

from celery import Celery

from shared.task_names import TaskName
from tracker.services.daily_round import make_rounds
from workers.means import Means


def register(app: Celery, means: Means) -> None:
    """Register the task under its name."""

    def make_round() -> None:
        """Make the rounds that are due. A round made is not made again; dying, none of it stays."""
        make_rounds(means.context())

    app.task(shared=False, name=TaskName.ROUND, soft_time_limit=1800, time_limit=1900)(make_round)
