"""One claimed event as judging holds it."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.events.base import Decision, Fact
from tracker.judge.entry import Payload
from tracker.store.intake import Waiting


@dataclass(frozen=True, slots=True)
class InHand:
    """One claimed event, read: as a typed event and as JSON, people in it as tokens."""

    waiting: Waiting
    event: Fact | Decision
    payload: Payload
