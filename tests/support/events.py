"""Factories of events, entries and records: plain ones, changed by keyword."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import orjson

from schemas.events.base import Decision, Fact
from schemas.events.union import EVENT
from schemas.records import Record
from shared import marks
from tracker.judge.entry import Entry, moment_text

START = datetime(2026, 3, 2, 8, tzinfo=UTC)
UNIT = str(UUID(int=1))
SUM_MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
PLATE = {
    "manufactured_in": "2025-01",
    "next_examination": "2029-12",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
}

_numbers = itertools.count(1)

OF_KIND: dict[str, dict[str, Any]] = {
    "pre-advice": {"batch": "B-1"},
    "gate-in": {},
    "inspection": {},
    "sighting": {},
    "restow": {"slot": "A1-2"},
    "examination": {"passed": True, "by": "Quill Testing", "next_examination": "2030-06"},
    "survey": {"by": "Quill Survey", "certificate": "C-1"},
    "modification": {"fittings": [{"work": "lock-box", "mass_kg": 12}]},
    "repair": {},
    "marking": {"action": "repainted"},
    "plate-change": {"action": "replaced", "plate": PLATE},
    "gate-out": {},
    "delivery": {"outcome": "delivered"},
    "claim-notice": {},
    "complaint": {"about": "a dent in the left door"},
    "disposal": {"manner": "scrapped"},
    "acquisition": {
        "owner": "Hardstand Trading",
        "title_evidence": "bill of sale 7",
        "title_passed_on": "2026-03-01",
    },
    "work-order": {"lines": [{"work": "lock-box"}]},
    "hold": {"hold": "do-not-lift", "reason": "a corner post is bent"},
    "hold-cleared": {"clears": str(UUID(int=7)), "evidence": "straightened and looked at"},
    "claim-closed": {"closes": str(UUID(int=7)), "outcome": "withdrawn"},
    "reservation": {"buyer": "Ada Quill", "until": "2026-04-01T12:00:00Z"},
    "order": {"buyer": "Ada Quill", "description": {"length_ft": 20}, "count": 2, "paid": True},
    "sale": {"buyer": "Ada Quill", "intended_use": "storage", "paid": True},
    "release": {"reference": "COLLECT-1"},
    "payment": {"pays": str(UUID(int=7))},
    "passing-on": {"reference": "COLLECT-1", "collector": "Bo Thorn"},
    "cancellation": {"cancels": str(UUID(int=7)), "reason": "changed their mind"},
    "clearance": {"reference": "COLLECT-1"},
    "take-back": {"reason": "the buyer moved"},
    "answer": {"question": str(UUID(int=7)), "settlement": "confirmed"},
    "correction": {"corrects": str(UUID(int=7)), "reason": "misread", "withdrawn": True},
}
"""What each kind needs besides what all have; a kind without a line here fails a test."""


NAMES_NO_UNIT = ("answer", "correction", "order", "passing-on")


def make_mark(serial: int = 1, owner: str = "ZZZU") -> str:
    """Return a sound invented mark."""
    first_ten = f"{owner}{serial:06d}"
    return first_ten + marks.check_digit(first_ten)


def bad_digit(mark: str) -> str:
    """Return the mark with a check digit that cannot be right."""
    return mark[:10] + str((int(mark[10]) + 1) % 10)


def make_payload(kind: str, **changes: object) -> dict[str, Any]:
    """Return an event as a sender writes it; a change of None leaves the field out.

    `at` is minutes after `START`. Ids count up from 1, so that later calls sort later.
    """
    minutes = float(str(changes.pop("at", 0)))
    said = {
        "kind": kind,
        "id": str(UUID(int=0xA0000 + next(_numbers))),
        "depot": "NORTH",
        "happened_at": (START + timedelta(minutes=minutes)).isoformat(),
        "reported_by": "Tom Reed",
        **({} if kind in NAMES_NO_UNIT else {"mark": make_mark()}),
        **OF_KIND[kind],
        **changes,
    }
    return {name: value for name, value in said.items() if value is not None}


def make_event(kind: str, **changes: object) -> Fact | Decision:
    """Return a valid event of a kind; see `make_payload`."""
    return EVENT.validate_json(orjson.dumps(make_payload(kind, **changes)))


def make_entry(
    kind: str,
    *,
    doubted: list[str] | None = None,
    resolved: dict[str, Any] | None = None,
    findings: list[dict[str, Any]] | None = None,
    **changes: object,
) -> Entry:
    """Return an event as it stands in a history, effective when it happened."""
    return entry_of_event(make_event(kind, **changes), doubted, resolved, findings)


def entry_of_event(
    event: Fact | Decision,
    doubted: list[str] | None = None,
    resolved: dict[str, Any] | None = None,
    findings: list[dict[str, Any]] | None = None,
) -> Entry:
    """Return the entry of an event that was judged so."""
    return Entry(
        event_id=str(event.id),
        kind=event.kind,
        effective_at=moment_text(event.happened_at),
        payload=orjson.loads(event.model_dump_json(exclude_none=True)),
        doubted=doubted or [],
        resolved=resolved or {},
        findings=findings or [],
    )


def make_record(**changes: object) -> Record:
    """Return the record of a unit that stands in NORTH under a good mark."""
    here = {"mark": make_mark(), "presence": "in-depot", "depot": "NORTH"}
    return Record(UNIT, **(here | changes))  # type: ignore[arg-type] # the test knows the fields
