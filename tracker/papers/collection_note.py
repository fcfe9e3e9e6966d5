"""The release note of a collection reference that is good for several units of an order."""

from __future__ import annotations

from typing import Final, Literal

from pydantic import AwareDatetime, NonNegativeInt

from schemas.base import Model
from shared import cautions
from tracker.papers import particulars, typesetting
from tracker.papers.particulars import Issue

_NOTICE: Final = (
    "Whoever shows this reference may collect. Hand it to nobody but the collector. Which units go "
    "is settled at the gate, which asks again before the barrier opens for each."
)


class Gone(Model):
    """One unit that was collected on the reference."""

    name: str
    at: AwareDatetime


class CollectionPaper(Model):
    """A reference on an order, and how often it still opens the barrier. Says no price."""

    issue: Issue
    reference: str
    order: str
    """The buyer's reference of the order, else its id."""
    buyer: str
    wanted: str
    """Which units will do, in words: `20 ft, cargo-worthy`."""
    intended_use: Literal["storage", "export", "transport"] = "storage"
    handover: Literal["collection", "delivery"] | None = None
    """How the buyer gets them."""
    units: NonNegativeInt
    """How often it opens the barrier in all; withdrawn, as often as it did."""
    gone: tuple[Gone, ...] = ()
    used: NonNegativeInt = 0
    haulier: str | None = None
    collector: str | None = None
    expires_at: AwareDatetime | None = None
    against: tuple[str, ...] = ()
    """Why the gate would open for nothing on it now; empty while it is good."""

    @property
    def left(self) -> int:
        """How many units may still be collected on it."""
        return 0 if self.against else max(self.units - self.used, 0)


def collection_note_pdf(paper: CollectionPaper) -> bytes:
    """Return the paper as PDF; the reference stands on it only while it is good for something."""
    good = paper.left > 0
    values = {
        "title": "Release note",
        "subject": f"{paper.left} of {paper.units} units",
        "subtitle": paper.wanted,
        "issue": particulars.issue_values(paper.issue),
        "verdict": "Released for collection" if good else "NOT released",
        "verdict_says": _verdict_says(paper),
        "reference": paper.reference if good else "",
        "code_says": "Scan at the gate" if good else "Scan for the order",
        "wanted": [
            ["Which units", paper.wanted],
            ["How many", f"{paper.left} left of {paper.units}, {paper.used} collected"],
            ["Intended use", paper.intended_use],
            ["Collection or delivery", paper.handover or "not named"],
            ["Order", paper.order],
        ],
        "collection": [
            ["Buyer", paper.buyer],
            ["Collector", paper.collector or "not named"],
            ["Haulier", paper.haulier or "not named"],
            ["Expiry", _expiry(paper)],
        ],
        "gone": [
            [one.name, particulars.write_moment(one.at, paper.issue.zone)] for one in paper.gone
        ],
        "notice": _NOTICE if good else "Nothing may be collected on this paper.",
    }
    values["caution"] = cautions.LIFTING
    return typesetting.typeset("collection_note", values, paper.issue.at)


def _verdict_says(paper: CollectionPaper) -> str:
    if paper.left == 0:
        return "\n".join(paper.against) or "All of it was collected."
    until = f"\n{_expiry(paper)}" if paper.expires_at else ""
    return f"Good for {paper.left} of {paper.units} units{until}"


def _expiry(paper: CollectionPaper) -> str:
    if paper.expires_at is None:
        return "none"
    return f"until {particulars.write_moment(paper.expires_at, paper.issue.zone)}"
