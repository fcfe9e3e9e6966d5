"""The sweep: announce every lane that has waiting events, in case an announcement was lost."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.store import intake, lanes


def sweep(context: Context) -> list[int]:
    """Announce the lanes with work, and return them. Any process may do so at any time."""
    with context.engine.begin() as connection:
        found = intake.lanes_waiting(connection)
    context.announcer.announce(found)
    return found


def sweep_alone(context: Context) -> list[int]:
    """Sweep, unless another process is about it; return the lanes that were announced.

    For those who sweep only in case nobody else does: however many there are, one looks at a time.
    """
    with context.engine.begin() as connection:
        found = intake.lanes_waiting(connection) if lanes.try_sweep_lock(connection) else []
        context.announcer.announce(found)
    return found
