"""Ends a worker that has gone deaf: orders wait at the broker, and it takes none though idle.

Seen here: Redis went away at the moment of an acknowledgement. Celery's consumer kept counting the
order that it could not acknowledge as one in hand, and so never asked for another, though its
process lived on. Nothing was lost, and nothing was done. Whoever supervises the process (the stack,
systemd, the container engine) starts it anew.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Final

import redis
import structlog
from celery.signals import task_received
from celery.worker import state

log = structlog.get_logger()

_LOOKS: Final = 4


def has_work() -> bool:
    """Say whether a child of this worker is at an order just now."""
    return bool(state.active_requests)


@dataclass(slots=True)
class Watch:
    """Watches the worker process it runs in, from a thread of its own. Asks no database."""

    broker: redis.Redis
    queue: str
    """The broker's list that the worker takes its orders from."""
    patience: timedelta
    is_busy: Callable[[], bool] = has_work
    _heard_at: float = field(default_factory=time.monotonic)

    def start(self) -> None:
        """Begin to watch; ends with the process."""
        task_received.connect(self.hear, weak=False)
        threading.Thread(target=self._keep_watching, name="watch", daemon=True).start()

    def hear(self, **_signal: object) -> None:
        """Note that an order has come in."""
        self._heard_at = time.monotonic()

    def is_deaf(self) -> bool:
        """Say whether orders should have been taken for longer than the patience, and none was."""
        if self.is_busy():
            self.hear()  # whose hands are full takes no order; Celery's own limits end that
        silent_s = time.monotonic() - self._heard_at
        if silent_s < self.patience.total_seconds():
            return False
        try:
            return bool(self.broker.llen(self.queue))
        except redis.RedisError:
            return False  # the fault is elsewhere, and starting anew would not mend it

    def _keep_watching(self) -> None:
        while not self.is_deaf():
            time.sleep(self.patience.total_seconds() / _LOOKS)
        log.critical("worker.deaf", silent_s=round(time.monotonic() - self._heard_at))
        # Its main loop no longer runs what would end it gently; open transactions are undone.
        os.kill(os.getpid(), signal.SIGKILL)
