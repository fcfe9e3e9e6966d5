"""Takes events in for this process, and knows whether the database took the last ones."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic
from typing import Final

import psycopg
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from schemas.verdicts import Receipt
from tracker.services import report
from tracker.services.actor import Actor
from tracker.services.context import Context

# The hot statements go past SQLAlchemy, and so do their errors.
DATABASE_FAULTS: Final = (
    OperationalError,
    InterfaceError,
    PoolTimeoutError,
    psycopg.OperationalError,
    psycopg.InterfaceError,
)
"""Faults of the database or the way to it, and none of what it was given."""

_REMEMBERED_S: Final = 60
"""Whoever is told that nothing can be taken in sends nothing more, by which to see that it can."""


class TakingIn:
    """Nothing is tried out: on a full disk a small write may succeed where an event does not."""

    def __init__(self, context: Context) -> None:
        self._context = context
        self._failed_at: float | None = None

    def take(
        self, actor: Actor, bodies: Sequence[bytes], *, gives_back: bool = False
    ) -> list[Receipt]:
        """Report events as `report.report` does, and note whether the database took them."""
        try:
            receipts = report.report(self._context, actor, bodies, gives_back=gives_back)
        except DATABASE_FAULTS:
            self._failed_at = monotonic()
            raise
        self._failed_at = None
        return receipts

    @property
    def is_failing(self) -> bool:
        """Say whether the last events could not be taken in, and that not long ago."""
        failed_at = self._failed_at
        return failed_at is not None and monotonic() - failed_at < _REMEMBERED_S
