"""The closed list of task names, by which work is announced without importing the workers."""

from __future__ import annotations

from enum import StrEnum


class TaskName(StrEnum):
    """What a worker can be asked to do; the value is the name on the wire."""

    DRAIN = "hardstand.drain"
    """Give verdicts to the events waiting in one lane."""
    SWEEP = "hardstand.sweep"
    """Announce every lane that has waiting events."""
    ROUND = "hardstand.round"
    """Raise and clear what falls due, once per depot and day."""
    MAIL = "hardstand.mail"
    """Send what stands in the outbox."""
