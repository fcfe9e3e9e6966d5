"""The rules of answers and corrections: when one cannot be granted."""

from __future__ import annotations

from functools import partial
from typing import Final

from tracker.judge.rules import designed_refusal

_refusal: Final = partial(designed_refusal, "Hardstand design, answers and corrections")


NO_QUESTION: Final = _refusal(
    "answer.no-open-question",
    "The question {seen} is not open: it was settled before, or never stood.",
    "A question is answered once; ask for the open ones.",
)
VALUE_MISSING: Final = _refusal(
    "answer.value-missing",
    "The question is about {seen}; give {expected}, or settle it in another way.",
    "An answer by value needs the value asked about.",
)
STILL_DOUBTFUL: Final = _refusal(
    "answer.still-doubtful",
    "With these values it still cannot be right: {seen}",
    "The answer or correction would open the same question again. Read the box again, or answer "
    "that it is painted so.",
)
NO_EVENT: Final = _refusal(
    "correction.no-such-event",
    "No recorded event {seen} can be corrected.",
    "A correction names an event that stands in a history, and not one that settles another.",
)
UNREADABLE: Final = _refusal(
    "correction.unreadable",
    "With these changes the event cannot be read: {seen}",
    "The corrected event must be as well-formed as any other.",
)
NOTHING_CHANGED: Final = _refusal(
    "correction.nothing-changed",
    "The correction changes nothing.",
    "Give the fields that are wrong with their right values, or withdraw the event.",
)
DECISION_STAYS: Final = _refusal(
    "correction.decision-stays",
    "A decision is not given to another unit: cancel it there and decide anew.",
    "Only facts move between units by correction.",
)

NOT_WITHDRAWN: Final = _refusal(
    "correction.not-withdrawn",
    "A {seen} is not withdrawn: {why}.",
    "Withdrawing it would lift a hold without evidence, open the barrier twice, or bring back a "
    "promise that nobody judged.",
)
DECISION_FIXED: Final = _refusal(
    "correction.decision-fixed",
    "A correction does not change what was decided: {seen}. Cancel it, and decide anew.",
    "What a decision is about is judged when it is asked for, never afterwards. What it says "
    "beside that may be corrected, if asking so anew would not be refused.",
)

NEW_MARK_STAYS: Final = _refusal(
    "correction.new-mark-stays",
    "A re-marking is not given another mark or another unit: answer the question about it, or "
    "withdraw the report and report it anew.",
    "A wrong new mark may be another unit's; its question, or a new report, is judged for that.",
)

RULES: Final = (
    NEW_MARK_STAYS,
    NO_QUESTION,
    VALUE_MISSING,
    STILL_DOUBTFUL,
    NO_EVENT,
    UNREADABLE,
    NOTHING_CHANGED,
    DECISION_STAYS,
    NOT_WITHDRAWN,
    DECISION_FIXED,
)
