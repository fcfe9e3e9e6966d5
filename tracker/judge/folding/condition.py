"""How inspections, examinations, surveys and complaints change a record."""

from __future__ import annotations

from schemas.records import OpenDamage, Record
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes
from tracker.judge.folding.readings import take_examination, take_readings
from tracker.judge.folding.yard import be_seen


def fold_inspection(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit was looked at: its readings, its condition, the damage found."""
    be_seen(record, entry, payload, notes)
    take_readings(record, payload)
    record.condition = payload.get("condition") or record.condition
    for number, damage in enumerate(payload["damages"], start=1):
        record.damages.append(
            OpenDamage(
                id=f"{entry.event_id}/{number}",
                component=damage["component"],
                kind=damage["kind"],
                urgency=damage["urgency"],
                found_at=entry.effective_at,
                place=damage.get("place"),
                measured_mm=damage.get("measured_mm"),
                mend_by=damage.get("mend_by"),
                on_lorry=damage["on_lorry"],
            )
        )


def fold_examination(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """A safety examination: passed, it sets the next; failed, none is valid any more."""
    if payload["passed"]:
        take_examination(record, payload)
    else:
        record.next_examination = None


def fold_survey(_record: Record, _entry: Entry, _payload: Payload, _notes: Notes) -> None:
    """A survey stands in the history; the certificate speaks for itself and changes no value."""


def fold_complaint(_record: Record, _entry: Entry, _payload: Payload, _notes: Notes) -> None:
    """A complaint stands in the history; what it leads to is reported as what it is."""
