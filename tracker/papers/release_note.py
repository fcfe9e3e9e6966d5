"""The release note: the collection reference, who may use it, and what was asked of the unit."""

from __future__ import annotations

from typing import Final, Literal

from pydantic import AwareDatetime, NonNegativeInt, PositiveInt

from schemas.base import Model
from shared import cautions
from tracker.papers import particulars, typesetting
from tracker.papers.particulars import Issue, Unit

_NOTICE: Final = (
    "Whoever shows this reference may collect. Hand it to nobody but the collector. The gate asks "
    "again before the barrier opens, and its answer then is what counts."
)


class Condition(Model):
    """One thing asked before a unit may leave, and the answer."""

    says: str
    met: bool
    why: str = ""

    @property
    def plain(self) -> bool:
        """Whether it is met and there is nothing more to say of it."""
        return self.met and not self.why


class ReleaseNote(Model):
    """A release, granted or not. A note whose conditions are not all met releases nothing."""

    unit: Unit
    issue: Issue
    reference: str | None = None
    """None while the release is not granted."""
    collector: str | None = None
    haulier: str | None = None
    buyer: str | None = None
    intended_use: Literal["storage", "export", "transport"] = "storage"
    handover: Literal["collection", "delivery"] | None = None
    """How the buyer gets it."""
    slot: str | None = None
    """Where on the ground of the depot the unit stands."""
    units: PositiveInt = 1
    collected: NonNegativeInt = 0
    description: str = ""
    """What may be collected when it is not this one unit: `6 of 20 ft, cargo-worthy`."""
    expires_at: AwareDatetime | None = None
    conditions: tuple[Condition, ...]

    @property
    def may_leave(self) -> bool:
        """Whether the note releases the unit: it has a reference and every condition is met."""
        return self.reference is not None and all(one.met for one in self.conditions)


def release_note_pdf(note: ReleaseNote) -> bytes:
    """Return the note as PDF; the reference stands on it only when the unit may leave."""
    values = {
        "title": "Release note",
        "subject": particulars.write_mark(note.unit),
        "subtitle": note.description,
        "issue": particulars.issue_values(note.issue),
        "unit": particulars.unit_values(note.unit),
        "verdict": "Released for collection" if note.may_leave else "NOT released",
        "verdict_says": _verdict_says(note),
        "reference": note.reference if note.may_leave and note.reference else "",
        "collection": _collection(note),
        "conditions": [
            _row(one) for one in sorted(note.conditions, key=lambda one: one.met) if not one.plain
        ],
        "met": [one.says for one in note.conditions if one.plain],
        "notice": _NOTICE if note.may_leave else "Nothing may be collected on this paper.",
    }
    values["caution"] = cautions.LIFTING
    return typesetting.typeset("release_note", values, note.issue.at)


def _verdict_says(note: ReleaseNote) -> str:
    unmet = sum(not one.met for one in note.conditions)
    if unmet:
        return f"{unmet} of {len(note.conditions)} conditions not met; see below."
    if note.reference is None:
        return "No collection reference was given."
    left = max(note.units - note.collected, 0)
    return f"Good for {left} of {note.units}" + (f"\n{_expiry(note)}" if note.expires_at else "")


def _collection(note: ReleaseNote) -> list[list[list[str]]]:
    """Return rows of a name and a value, in two columns."""
    rows: list[tuple[str, str | None]] = [
        ("Stands in", note.slot),
        ("Haulier", note.haulier),
        ("Collector", note.collector),
        ("Buyer", note.buyer),
        ("Intended use", note.intended_use),
        ("Collection or delivery", note.handover),
        ("Units", f"{note.units}, of which {note.collected} collected"),
        ("Expiry", _expiry(note)),
    ]
    named = [[name, value or "not named"] for name, value in rows]
    return [named[:4], named[4:]]


def _expiry(note: ReleaseNote) -> str:
    if note.expires_at is None:
        return "none"
    return f"until {particulars.write_moment(note.expires_at, note.issue.zone)}"


def _row(condition: Condition) -> list[str]:
    answer = "✓ met" if condition.met else "✗ NOT MET"
    return [answer, condition.says, condition.why]
