"""One line of a history as the fold reads it, and the order in which lines are folded."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from schemas.events.union import RANKS

Payload = dict[str, Any]
"""An event as it stands in the history: parsed JSON, personal values replaced by tokens."""

Key = tuple[str, int, str]

_QUESTIONS = UUID("6f6a3f0e-2f64-5c1e-9f0e-0a3d1f5b7c11")


@dataclass(slots=True)
class Entry:
    """One recorded event: what was said, what of it was not adopted, what judging resolved.

    `effective_at` is UTC ISO text, so that comparing text compares time. `doubted` names the
    fields not adopted, dotted at most once. `resolved` holds what the judgement looked up, so that
    the fold need not: `overrides` (event id -> entry or None) and `settles` (question ids) of an
    answer or a correction, the unit that a merger leads to.
    """

    event_id: str
    kind: str
    effective_at: str
    payload: Payload
    doubted: list[str] = field(default_factory=list)
    resolved: dict[str, Any] = field(default_factory=dict)
    findings: list[dict[str, Any]] = field(default_factory=list)

    @property
    def key(self) -> Key:
        """Where this entry stands among the others: moment, then kind, then id."""
        return (self.effective_at, RANKS[self.kind], self.event_id)


def question_id(event_id: str, finding: str, about: str) -> str:
    """Return the id of the question that a finding opens: the same whenever it is folded."""
    return str(uuid5(_QUESTIONS, f"{event_id}|{finding}|{about}"))
