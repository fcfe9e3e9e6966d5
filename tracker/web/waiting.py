"""Wait for verdicts without a database connection: one LISTEN per process, polling besides.

A notice is only a hint, so everything it says is looked up; and what it fails to say is found by
looking every second. However many wait, one statement looks for all of them.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Collection
from typing import Final
from uuid import UUID

import psycopg
from anyio import to_thread
from psycopg import sql

from shared import addresses, logs
from tracker.services.context import Context
from tracker.store import intake, notices
from tracker.web import places

log = logs.get(__name__)

_POLL_EVERY_S: Final = 1.0
_RECONNECT_AFTER_S: Final = 2.0


class VerdictWaiter:
    """Lets routes wait for the verdict on an event. One per process; runs while entered."""

    def __init__(self, context: Context) -> None:
        self._context = context
        self._waiters: dict[UUID, list[asyncio.Event]] = {}
        self._due: set[UUID] = set()
        self._look_now = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._has_let_go = False

    async def __aenter__(self) -> VerdictWaiter:
        """Begin to listen and to look."""
        self._tasks = [asyncio.create_task(self._listen()), asyncio.create_task(self._look())]
        return self

    async def __aexit__(self, *_: object) -> None:
        """Stop both; whoever still waits goes on until their time is up."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def wait(self, event_id: UUID, seconds: float) -> bool:
        """Wait until an event has its verdict; return False when the time is up before, or we stop.

        An event that nobody knows is waited for as well: it may be on its way.
        """
        if self._has_let_go:
            return False
        told = asyncio.Event()
        self._waiters.setdefault(event_id, []).append(told)
        self._hurry({event_id})
        try:
            with places.aside():
                async with asyncio.timeout(seconds):
                    await told.wait()
        except TimeoutError:
            return False
        finally:
            waiting = self._waiters[event_id]
            waiting.remove(told)
            if not waiting:
                del self._waiters[event_id]
        return not self._has_let_go

    def let_go(self) -> None:
        """Let nobody wait any longer: the process is about to stop."""
        self._has_let_go = True
        for waiting in self._waiters.values():
            for told in waiting:
                told.set()

    def _hurry(self, event_ids: Collection[UUID]) -> None:
        self._due.update(event_ids)
        self._look_now.set()

    async def _look(self) -> None:
        """Look for verdicts whenever there is a hint, and of all that is waited for each second."""
        while True:
            try:
                async with asyncio.timeout(_POLL_EVERY_S):
                    await self._look_now.wait()
            except TimeoutError:
                self._due.update(self._waiters)
            self._look_now.clear()
            due, self._due = self._due & self._waiters.keys(), set()
            if due:
                await self._tell(due)

    async def _tell(self, due: set[UUID]) -> None:
        try:
            settled = await to_thread.run_sync(self._find_settled, due)
        except Exception as fault:  # noqa: BLE001 - a database that is away may come back
            log.warning("verdicts.not_looked_up", fault=type(fault).__name__)
            return
        for event_id in settled:
            for told in self._waiters.get(event_id, ()):
                told.set()

    def _find_settled(self, due: set[UUID]) -> list[UUID]:
        with self._context.engine.begin() as connection:
            known = intake.find_known(connection, due)
        return [event_id for event_id, one in known.items() if one.outcome != "waiting"]

    async def _listen(self) -> None:
        """Take notices in, connecting again whenever the connection is lost."""
        address = addresses.libpq_address(
            self._context.engine.url.render_as_string(hide_password=False)
        )
        while True:
            try:
                async with await psycopg.AsyncConnection.connect(
                    address, autocommit=True, application_name="hardstand-listener"
                ) as connection:
                    await connection.execute(
                        sql.SQL("LISTEN {}").format(sql.Identifier(notices.VERDICTS))
                    )
                    async for notice in connection.notifies():
                        self._take(notice.payload)
            except psycopg.Error as fault:
                log.warning("listener.lost", fault=type(fault).__name__)
            await asyncio.sleep(_RECONNECT_AFTER_S)

    def _take(self, said: str) -> None:
        if said == notices.EVERYTHING:
            self._hurry(self._waiters.keys())
            return
        with contextlib.suppress(ValueError):
            self._hurry({UUID(text) for text in said.split()} & self._waiters.keys())
