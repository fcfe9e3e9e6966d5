"""Factories of inspections: everything good, changed by keyword; and their judging."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from schemas.events.condition import Inspection
from schemas.events.deal import IntendedUse
from schemas.records import Record
from tests.support.events import START, make_event
from tracker.judge.checklist import checklist_for
from tracker.judge.inspection import judge_inspection
from tracker.judge.judgement import Judgement, Rulebook

PHOTO = "0f" * 32
PLATE_READ: dict[str, Any] = {
    "manufactured_in": "2025-01",
    "next_examination": "2029-12",
    "gross_kg": 30480,
    "photo": PHOTO,
}
AIRED: dict[str, Any] = {"ventilated_by": "Ada Quill", "entered": True}
LIGHT: dict[str, Any] = {
    "by": "Ada Quill",
    "second_person": "Orin Vale",
    "daylight_seen": False,
}


def make_inspection(**changes: object) -> Inspection:
    """Return an inspection of a read and photographed plate, told of nothing else."""
    event = make_event("inspection", **({"plate": PLATE_READ} | changes))
    assert isinstance(event, Inspection)
    return event


def all_good(record: Record, **changes: object) -> Inspection:
    """Return an inspection that found every item asked of an export unit good."""
    items = checklist_for(record, intended_use=IntendedUse.EXPORT)
    answers = {item.id: {"found": "good"} for item in items}
    return make_inspection(**({"answers": answers, "gas": AIRED, "light_test": LIGHT} | changes))


def all_good_but(record: Record, item: str, *, found: str | None, **changes: object) -> Inspection:
    """Return an inspection that found all good but one item; None leaves it unanswered."""
    said = all_good(record).model_dump(mode="json", include={"answers"}, exclude_none=True)
    answers = said["answers"] | {item: {"found": found}}
    if found is None:
        del answers[item]
    return all_good(record, **({"answers": answers} | changes))


def judged(event: Inspection, record: Record) -> Judgement:
    """Return what judging an inspection gives, apart from its readings."""
    judgement = Judgement()
    judge_inspection(judgement, event, record, START + timedelta(days=1), Rulebook())
    return judgement


def found_in(judgement: Judgement) -> dict[str, Any]:
    """Return the findings by id; of two alike the last."""
    return {finding.id: finding for finding in judgement.findings}
