"""Find what was made of events handed in before."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from schemas.verdicts import Verdict
from tracker.services.accept import verdict_of
from tracker.services.context import Context
from tracker.store import intake


def find_verdicts(context: Context, event_ids: Collection[UUID]) -> dict[UUID, Verdict]:
    """Return the verdicts that stand; an event that waits, or that nobody knows, is left out."""
    with context.engine.begin() as connection:
        known = intake.find_known(connection, event_ids)
    verdicts = {event_id: verdict_of(one) for event_id, one in known.items()}
    return {event_id: one for event_id, one in verdicts.items() if one is not None}
