"""Let an event that was held be judged again."""

from __future__ import annotations

from uuid import UUID

from shared.errors import HardstandError
from tracker.services.context import Context
from tracker.store import intake, receipts


class NotHeldError(HardstandError):
    """An event is not held; carries its id."""

    def __init__(self, event_id: UUID) -> None:
        self.event_id = event_id
        super().__init__(
            f"Event {event_id} is not held",
            expected="the id of an event that could be read and broke the judge",
            remedy="What could not be read is handed in anew, put right",
        )


def let_go(context: Context, event_id: UUID) -> None:
    """Take back the verdict `held`, and announce the event's lane.

    Raises:
        NotHeldError: it is not held, or was let go already.
    """
    with context.engine.begin() as connection:
        lane = intake.let_go(connection, event_id)
        if lane is None:
            raise NotHeldError(event_id)
        receipts.withdraw_held(connection, event_id)
    context.announcer.announce([lane])
