"""The task that announces lanes whose announcement was lost."""

from __future__ import annotations

from celery import Celery

from shared.task_names import TaskName
from tracker.services import sweep as service
from workers.means import Means


def register(app: Celery, means: Means) -> None:
    """Register the task under its name."""

    def sweep() -> None:
        """Announce lanes with work. Run twice or dying half-way, it is made up for by the next."""
        service.sweep(means.context())

    app.task(shared=False, name=TaskName.SWEEP)(sweep)
