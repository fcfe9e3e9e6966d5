"""What the clients of one load saw, counted together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil

from deploy.load.wire import Answer, NotAnsweredError, SilentError, TornAnswerError, WireError


@dataclass(slots=True)
class Tally:
    """Written by the clients' one thread; read by others only in passing."""

    accepted: set[str] = field(default_factory=set)
    """Ids of events with a receipt."""
    statuses: Counter[int] = field(default_factory=Counter)
    waits: dict[str, list[float]] = field(default_factory=lambda: {"GET": [], "POST": []})
    """Seconds from question to answer, of those that were served, by method."""
    put_off: int = 0
    """Answers of 429 or 503 with Retry-After."""
    turned_away: int = 0
    """The same without Retry-After: a sender is not told when to come again."""
    wrong: Counter[str] = field(default_factory=Counter)
    """Any other answer that was not served, by what was asked and its status."""
    not_answered: int = 0
    """Connections refused or closed before an answer: nothing was promised."""
    torn: int = 0
    silent: int = 0

    def note_answer(self, method: str, answer: Answer, took_s: float) -> bool:
        """Note an answer; say whether it was served."""
        self.statuses[answer.status] += 1
        if answer.status < 300:
            self.waits[method].append(took_s)
            return True
        if answer.status in (429, 503):
            told = answer.headers.get("retry-after", "").isdigit()
            self.put_off += told
            self.turned_away += not told
        else:
            self.wrong[f"{method} {answer.status}"] += 1
        return False

    def note_fault(self, fault: WireError) -> None:
        """Note a request that came to nothing."""
        self.not_answered += isinstance(fault, NotAnsweredError)
        self.torn += isinstance(fault, TornAnswerError)
        self.silent += isinstance(fault, SilentError)

    def within(self, method: str, part: float) -> float:
        """Return within how many seconds so large a part was served; 0 where nothing was."""
        return part_of(sorted(self.waits[method]), part)


def part_of(values: Sequence[float], part: float) -> float:
    """Return the smallest of sorted values that so large a part does not exceed, 0 without any."""
    return values[max(0, ceil(part * len(values)) - 1)] if values else 0.0
