"""What whoever reports an arrival without script is asked before it is recorded."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from schemas.events.gate import Purpose
from schemas.verdicts import FieldFault

SURE: Final = "sure"
"""The field by which a form says what it was asked about already."""
ALL_SURE: Final = "yes"


def is_here_already(record: Mapping[str, Any], depot: str) -> bool:
    """Say whether the record has the unit on the ground of the depot."""
    return bool(record["presence"] == "in-depot" and record["depot"] == depot)


def how_long_ago(arrived_at: str | None, now: datetime) -> str:
    """Say how long a unit has stood here: `1 minute ago`, `3 days ago`."""
    if arrived_at is None:
        return "before"
    minutes = max(0, int((now - datetime.fromisoformat(arrived_at)).total_seconds() // 60))
    for size, word in ((1440, "day"), (60, "hour"), (1, "minute")):
        if count := minutes // size:
            return f"{count} {word}{'' if count == 1 else 's'} ago"
    return "just now"


def comes_back_for(record: Mapping[str, Any]) -> Purpose | None:
    """Return what a unit that was here and is away most likely comes for; None where nobody knows.

    `static/arrival.js` proposes the same.
    """
    if record["whereabouts"] == "outside workshop":
        return Purpose.OUTSIDE_REPAIR
    if record["whereabouts"] == "on the lorry":
        return Purpose.FAILED_DELIVERY
    return Purpose.TAKE_BACK if record["sale"] is not None else None


def why_it_comes(record: Mapping[str, Any]) -> FieldFault:
    """Ask for the purpose of a unit that was here and left, where none was chosen."""
    was = "It was sold and left" if record["sale"] is not None else "It was here before and left"
    return FieldFault(field="purpose", says=f"{was}. Why does it come?")
