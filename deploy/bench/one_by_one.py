"""The plain way: one Celery task and one commit per event, the same rules."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from uuid import UUID

from celery import Celery

from deploy.bench.bench_house import House
from deploy.bench.rows import seconds
from deploy.environment import environment_of
from shared import addresses, logs
from shared.settings import Settings, load
from tracker.services.accept import accept
from tracker.services.batch import Batch
from tracker.services.context import Context
from tracker.store import intake
from workers.means import Means

_TASK = "hardstand.bench.one"
_QUEUE = "bench"


def record(house: House, warming: Sequence[bytes], sent: Sequence[bytes]) -> float:
    """Take each event in with a commit of its own and give it to a worker as a task.

    Returns:
        How many seconds `sent` took, by a worker that was at work already.
    """
    app = make_app(house.settings)
    command = [sys.executable, "-m", "deploy.bench.one_by_one"]
    worker = subprocess.Popen(command, env=environment_of(house.settings))  # noqa: S603 - our own
    try:
        _record_each(house, app, warming)
        return seconds(lambda: _record_each(house, app, sent))
    finally:
        worker.terminate()
        worker.wait()


def _record_each(house: House, app: Celery, sent: Sequence[bytes]) -> None:
    for body in sent:
        (receipt,) = accept(house.web, [body])
        app.send_task(_TASK, args=[str(receipt.id)], queue=_QUEUE)
    house.wait_until_drained()


def make_app(settings: Settings) -> Celery:
    """Return an app with the one task."""
    app = Celery("bench", broker=addresses.broker_address(str(settings.redis_url)))
    app.conf.update(task_ignore_result=True, worker_prefetch_multiplier=1)
    means = Means(app, settings)

    def record_one(event_id: str) -> None:
        """Judge one event in a transaction of its own."""
        judge_one(means.context(), UUID(event_id))

    app.task(shared=False, name=_TASK)(record_one)
    return app


def judge_one(context: Context, event_id: UUID) -> None:
    """Judge one waiting event and commit."""
    with context.engine.begin() as connection:
        waiting = intake.find_waiting(connection, event_id)
        if waiting is not None:
            rules = context.rulebook(connection)
            Batch(connection, context.secret, rules, context.clock.now()).judge([waiting])


def main() -> None:
    """Run a worker with as many processes as there are cores."""
    logs.configure("bench", level="ERROR")
    make_app(load()).worker_main(
        ["--quiet", "worker", f"--queues={_QUEUE}", "--concurrency=2", "--loglevel=ERROR"]
    )


if __name__ == "__main__":
    main()
