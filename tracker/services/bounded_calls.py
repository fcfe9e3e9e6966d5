"""Calls to a service of others that take no longer than is waited for, whatever it does.

A timeout of a connection bounds each read; who answers a byte at a time is never late by it. So a
call runs on a thread of its own that is waited for to one deadline, and there are only so many.
"""

from __future__ import annotations

import contextvars
import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import TypeVar

_Result = TypeVar("_Result")


class CallOutOfTimeError(Exception):
    """A call is not back in time, or so many are under way that there is no room for another."""


class BoundedCalls:
    """Lets at most `most` calls be under way, each waited for at most `patience_s`.

    Ends no call: one that was given up keeps its thread, and its place, until it comes back by
    itself. Shared between threads.
    """

    def __init__(self, most: int, patience_s: float) -> None:
        """Begin with none under way."""
        self.patience_s = patience_s
        self._room = threading.BoundedSemaphore(most)

    def run(self, call: Callable[[], _Result]) -> _Result:
        """Return or raise what the call does; raises `CallOutOfTimeError` when it is late."""
        if not self._room.acquire(blocking=False):
            raise CallOutOfTimeError
        came: Future[_Result] = Future()
        context = contextvars.copy_context()  # what is logged names the request

        def answer() -> None:
            try:
                came.set_result(context.run(call))
            except BaseException as fault:  # noqa: BLE001 - raised where it is waited for
                came.set_exception(fault)
            finally:
                self._room.release()

        # No pool: its threads would be waited for when the process ends.
        threading.Thread(target=answer, name="bounded-call", daemon=True).start()
        try:
            return came.result(self.patience_s)
        except TimeoutError:
            if came.done():
                raise  # the call's own
            raise CallOutOfTimeError from None
