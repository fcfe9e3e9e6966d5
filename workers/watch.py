"""Ends a drain worker that has gone deaf: work waits, the broker answers, and it hears nothing.

Seen here: Redis went away and came back at the moment of an acknowledgement, and Celery's consumer
never listened again, while its process lived on. Nothing was lost, and nothing was done. Whoever
supervises the process (the stack, systemd, the container engine) starts it anew.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from dataclasses import dataclass, field
from datetime import timedelta

import redis
import structlog
from celery.signals import task_received
from sqlalchemy.exc import SQLAlchemyError

from tracker.services.context import Context
from tracker.store import intake

log = structlog.get_logger()


@dataclass(slots=True)
class Watch:
    """Watches the process it runs in, from a thread of its own. Judges no event and no batch."""

    context: Context
    broker: redis.Redis
    patience: timedelta
    _heard_at: float = field(default_factory=time.monotonic)

    def start(self) -> None:
        """Begin to watch; ends with the process."""
        task_received.connect(self.hear, weak=False)
        threading.Thread(target=self._keep_watching, name="watch", daemon=True).start()

    def hear(self, **_signal: object) -> None:
        """Note that an order has come in."""
        self._heard_at = time.monotonic()

    def is_deaf(self) -> bool:
        """Say whether orders should have come in for longer than the patience, and none did."""
        silent_s = time.monotonic() - self._heard_at
        if silent_s < self.patience.total_seconds():
            return False
        try:
            with self.context.engine.begin() as connection:
                oldest = intake.oldest_waiting(connection)
            answers = bool(self.broker.ping())
        except (SQLAlchemyError, redis.RedisError):
            return False  # the fault is elsewhere, and starting anew would not mend it
        return answers and oldest is not None and self.context.clock.now() - oldest > self.patience

    def _keep_watching(self) -> None:
        while not self.is_deaf():
            time.sleep(self.patience.total_seconds() / 4)
        log.critical("worker.deaf", silent_s=round(time.monotonic() - self._heard_at))
        # Its main loop no longer runs what would end it gently; open transactions are undone.
        os.kill(os.getpid(), signal.SIGKILL)
