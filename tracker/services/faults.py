"""What can go wrong while judging a batch."""

from __future__ import annotations

from shared.errors import HardstandError
from tracker.store.intake import Waiting


class DrainError(HardstandError):
    """The base of what stops a drain."""


class PoisonedEventError(DrainError):
    """Judging one event failed; carries it and the fault, so that it alone is set aside."""

    def __init__(self, waiting: Waiting, fault: Exception) -> None:
        self.waiting = waiting
        self.fault = fault
        super().__init__(
            f"Event {waiting.event_id} broke the judge: {type(fault).__name__}: {fault}",
            remedy="Nothing is lost: mend the cause, then let the event go again",
        )
