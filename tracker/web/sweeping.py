"""Look now and then for events that wait unannounced, in case beat and its worker are dead."""

from __future__ import annotations

import asyncio

from anyio import to_thread

from shared import logs
from tracker.services.context import Context
from tracker.services.sweep import sweep_alone

log = logs.get(__name__)


class Sweeper:
    """Sweeps every so many seconds while entered; never, where the setting is 0."""

    def __init__(self, context: Context) -> None:
        self._context = context
        self._every_s = context.settings.web_sweep_every_s
        self._task: asyncio.Task[None] | None = None

    async def __aenter__(self) -> Sweeper:
        """Begin."""
        if self._every_s:
            self._task = asyncio.create_task(self._go_on())
        return self

    async def __aexit__(self, *_: object) -> None:
        """Stop."""
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)

    async def _go_on(self) -> None:
        while True:
            await asyncio.sleep(self._every_s)
            try:
                await to_thread.run_sync(sweep_alone, self._context)
            except Exception as fault:  # noqa: BLE001 - a database that is away may come back
                log.warning("web.not_swept", fault=type(fault).__name__)
