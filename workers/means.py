"""The means of one worker process: made on first use after the fork, never shared across one."""

from __future__ import annotations

import gc
import os

import redis
from celery import Celery

from shared.addresses import Role
from shared.clock import SystemClock
from shared.settings import Settings
from tracker.announce import LaneAnnouncer
from tracker.services.context import Context
from tracker.store.engine import make_engine

_REDIS_TIMEOUT_S = 2


class Means:
    """Gives tasks their context. A child process gets an engine and an announcer of its own."""

    def __init__(self, app: Celery, settings: Settings) -> None:
        self._app = app
        self._settings = settings
        self._context: Context | None = None
        self._made_in = 0

    def context(self) -> Context:
        """Return this process's context, made when first asked for."""
        # A pool's child inherits what its parent made; connections must not be shared by both.
        if self._context is None or self._made_in != os.getpid():
            self._context, self._made_in = self._make(), os.getpid()
        return self._context

    def _make(self) -> Context:
        spare_the_collector()
        client = redis.Redis.from_url(
            str(self._settings.redis_url),
            socket_timeout=_REDIS_TIMEOUT_S,
            socket_connect_timeout=_REDIS_TIMEOUT_S,
        )
        announcer = LaneAnnouncer(self._app, client)
        announcer.start()
        address = self._settings.database_of(Role.WORKER)
        engine = make_engine(address, pool_size=3, name="hardstand-worker")
        return Context(engine, self._settings, SystemClock(), announcer)


def spare_the_collector() -> None:
    """Let the garbage collector look less often, and never again at what is there already.

    A drain makes many objects that live for one batch and no cycles; looking for cycles among
    everything a process has loaded took a quarter of its time.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)
