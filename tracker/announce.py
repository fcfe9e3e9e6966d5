"""The announcer: tells workers, by task name over Redis, that lanes have work.

It may lose anything: the row in PostgreSQL is the truth, and the sweep says again what waits. So a
dead broker costs a request nothing: announcing happens on a thread of its own, once per lane until
a drain begins, with short timeouts and no retry.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterable
from typing import Final

import redis
import structlog
from celery import Celery
from redis.backoff import NoBackoff
from redis.retry import Retry

from shared.task_names import TaskName

log = structlog.get_logger()

_PENDING: Final = "hardstand:lane:{}:announced"

_FORGET_AFTER_S: Final = 10
"""A lane announced and not begun by then is announced again: the order may be lost."""


class LaneAnnouncer:
    """Announces lanes to Celery workers. One per process; start it, and stop it at the end."""

    def __init__(self, app: Celery, client: redis.Redis) -> None:
        self._app = app
        self._redis = client
        # The client's own habit is to try for seconds; here the sweep is what tries again.
        client.set_retry(Retry(NoBackoff(), 0))
        self._lanes: queue.SimpleQueue[int | None] = queue.SimpleQueue()
        self._queued: set[int] = set()
        self._guard = threading.Lock()
        self._thread = threading.Thread(target=self._work, name="announcer", daemon=True)

    def start(self) -> None:
        """Start announcing, on a thread that ends with the process."""
        self._thread.start()

    def stop(self) -> None:
        """Announce what is left, for a moment, and stop."""
        self._lanes.put(None)
        self._thread.join(timeout=2)

    def announce(self, lanes: Iterable[int]) -> None:
        """Announce lanes; returns at once. A lane stands in line once, however slow the broker."""
        with self._guard:
            fresh = set(lanes) - self._queued
            self._queued |= fresh
        for lane in sorted(fresh):
            self._lanes.put(lane)

    def begin(self, lane: int) -> None:
        """Note that a lane is being drained: work that comes from now on is announced anew."""
        try:
            self._redis.delete(_PENDING.format(lane))
        except redis.RedisError as fault:
            log.warning("announcement.not_cleared", lane=lane, fault=type(fault).__name__)

    def _work(self) -> None:
        while (lane := self._lanes.get()) is not None:
            with self._guard:
                self._queued.discard(lane)  # before it is said, so that what comes now is said too
            try:
                self._announce(lane)
            except Exception as fault:  # noqa: BLE001 - whatever it is, the sweep makes up for it
                log.warning("announcement.lost", lane=lane, fault=type(fault).__name__)

    def _announce(self, lane: int) -> None:
        if self._redis.set(_PENDING.format(lane), 1, nx=True, ex=_FORGET_AFTER_S):
            self._app.send_task(
                TaskName.DRAIN, args=[lane], queue="drain", retry=False, ignore_result=True
            )
