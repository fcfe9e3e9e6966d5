"""The task that sends what stands in the outbox."""

from __future__ import annotations

from celery import Celery

from shared.task_names import TaskName
from tracker.services.post import post_of, send_waiting
from workers.means import Means


def register(app: Celery, means: Means) -> None:
    """Register the task under its name."""

    def send_mail() -> None:
        """Send letters. Two at once take different letters; dying, one may go twice, as one."""
        context = means.context()
        send_waiting(context, post_of(context))

    app.task(shared=False, name=TaskName.MAIL)(send_mail)
