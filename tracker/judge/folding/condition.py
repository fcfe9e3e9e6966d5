"""How inspections, examinations, surveys and complaints change a record."""

from __future__ import annotations

from collections.abc import Iterable

from schemas.records import OpenDamage, Record
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding import air, claims
from tracker.judge.folding.notes import Notes
from tracker.judge.folding.readings import take_examination, take_readings
from tracker.judge.folding.yard import be_seen


def fold_inspection(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """A unit was looked at: its readings, its air, its condition, the damage found."""
    be_seen(record, entry, payload, notes)
    take_readings(record, payload)
    air.take_inspection(record, entry, payload, notes)
    record.condition = payload.get("condition") or record.condition
    if (plate := payload.get("plate")) and (photo := plate.get("photo")):
        _keep_photos(record, [photo])
    for number, damage in enumerate(payload["damages"]):
        _open_damage(record, entry, damage, number)


def _open_damage(record: Record, entry: Entry, damage: Payload, number: int) -> None:
    photos = damage.get("photos") or []
    opened = OpenDamage(
        id=f"{entry.event_id}/{number + 1}",
        component=damage["component"],
        kind=damage["kind"],
        urgency=damage.get("urgency") or _urgency_resolved(entry, number),
        found_at=entry.effective_at,
        place=damage.get("place"),
        measured_mm=damage.get("measured_mm"),
        mend_by=damage.get("mend_by") or claims.resolved_for(entry, "mend_by", number),
        on_lorry=damage["on_lorry"],
        measure=damage.get("measure"),
        count=damage.get("count"),
        out_of=damage.get("out_of"),
        photos=list(photos),
    )
    record.damages.append(opened)
    _keep_photos(record, photos)
    if opened.on_lorry:
        claims.claim_damage(record, entry, opened, damage, number)


def _urgency_resolved(entry: Entry, number: int) -> str:
    return claims.resolved_for(entry, "urgency", number) or "when-convenient"


def _keep_photos(record: Record, photos: Iterable[str]) -> None:
    for photo in photos:
        if photo not in record.photos:
            record.photos.append(photo)


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
