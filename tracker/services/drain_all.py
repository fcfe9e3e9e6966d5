"""Drain every lane with work in this process, where no worker does it."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.services.drain import drain
from tracker.store import intake


def drain_all(context: Context) -> int:
    """Drain once every lane that has work; return how many events got their verdict.

    Lanes that a worker is busy with are left to it. Called again, goes on with what is left.
    """
    with context.engine.begin() as connection:
        lanes = intake.lanes_waiting(connection)
    reports = [drain(context, lane) for lane in lanes]
    return sum(one.recorded + one.refused + one.held for one in reports)
