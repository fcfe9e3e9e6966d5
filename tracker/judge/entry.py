"""One line of a history as the fold reads it, and the order in which lines are folded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache
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

    def as_override(self) -> dict[str, Any]:
        """Return what an answer or correction writes down to put this entry in its place."""
        return {
            "kind": self.kind,
            "effective_at": self.effective_at,
            "payload": self.payload,
            "doubted": self.doubted,
            "resolved": self.resolved,
            "findings": self.findings,
        }

    @property
    def key(self) -> Key:
        """Where this entry stands among the others: moment, then kind, then id."""
        return (self.effective_at, RANKS[self.kind], self.event_id)


def adopted(payload: Payload, doubted: Iterable[str]) -> Payload:
    """Return `payload` without the doubted fields, itself when there are none."""
    kept = payload
    for path in doubted:
        name, _, inner = path.partition(".")
        if name not in kept:
            continue
        kept = {**kept}
        if not inner:
            del kept[name]
        elif kept[name]:
            kept[name] = {line: value for line, value in kept[name].items() if line != inner}
    return kept


@lru_cache(maxsize=4096)
def moment_text(moment: datetime) -> str:
    """Write a moment so that comparing the text compares time: UTC, with microseconds.

    Kept for a while: a batch writes the same moments several times, which was a tenth of judging.
    """
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def moment_read(moment: str) -> str:
    """Write a moment as `moment_text` does that an event wrote in its own zone and way."""
    return moment_text(datetime.fromisoformat(moment))


def moment_after(received_at: datetime, kind: str, event_id: str, last: Key) -> str:
    """Return the moment from which a decision counts: its receipt, but after all it was judged by.

    A decision is judged by the record as it stands, which may hold facts of a clock that runs
    ahead, or decisions received later and judged sooner in another lane. Folded before these it
    could be undone by what it was granted after.
    """
    moment = moment_text(received_at)
    if (moment, RANKS[kind], event_id) > last:
        return moment
    return moment_text(datetime.fromisoformat(last[0]) + timedelta(microseconds=1))


def question_id(event_id: str, finding: str, about: str) -> str:
    """Return the id of the question that a finding opens: the same whenever it is folded."""
    return str(uuid5(_QUESTIONS, f"{event_id}|{finding}|{about}"))
