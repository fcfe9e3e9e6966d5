"""Back-pressure: when too much waits to be judged, new events are asked to come later."""

from __future__ import annotations

import threading
from time import monotonic
from typing import Final

from shared.errors import HardstandError
from tracker.services.context import Context
from tracker.store import intake

_LOOK_EVERY_S: Final = 1.0
_RETRY_AFTER_S: Final = 5


class BusyError(HardstandError):
    """More waits to be judged than this process adds to; carries when to come again."""

    def __init__(self) -> None:
        self.retry_after_s = _RETRY_AFTER_S
        super().__init__(
            "Too many events wait for their verdict",
            remedy=f"Hand them in again in {_RETRY_AFTER_S} seconds; nothing was taken this time",
        )


class Backlog:
    """Knows whether too much waits. Looks at most once a second, however often it is asked."""

    def __init__(self, context: Context, most: int) -> None:
        self._context = context
        self._most = most
        self._lock = threading.Lock()
        self._is_over = False
        self._look_at = 0.0

    def check(self) -> None:
        """Raise `BusyError` when more than the limit waits."""
        with self._lock:
            if monotonic() >= self._look_at:
                self._is_over = self._look()
                self._look_at = monotonic() + _LOOK_EVERY_S
        if self._is_over:
            raise BusyError

    def _look(self) -> bool:
        with self._context.engine.begin() as connection:
            return intake.is_backlog_over(connection, self._most)
