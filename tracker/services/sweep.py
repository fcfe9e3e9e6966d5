"""The sweep: announce every lane that has waiting events, in case an announcement was lost."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.store import intake


def sweep(context: Context) -> list[int]:
    """Announce the lanes with work, and return them. Any process may do so at any time."""
    with context.engine.begin() as connection:
        lanes = intake.lanes_waiting(connection)
    context.announcer.announce(lanes)
    return lanes
