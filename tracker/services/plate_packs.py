"""Write the plate pack of a unit, today or as it was, also long after the unit has left."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Final

import orjson

from schemas.readings import PlateReading
from schemas.records import Record
from shared.months import Month
from tracker.judge.release_rules import lacks_of_pack
from tracker.papers.plate_pack import PlatePack
from tracker.services import paper_values
from tracker.services.context import Context
from tracker.services.unit_view import UnitView

_SEEN_BY_THE_PACK: Final = frozenset(
    {
        "the plate's photo",
        "the approval reference",
        "the month of manufacture",
        "the manufacturer's number",
        "the plate's gross mass",
        "the stacking load",
        "the racking force",
        "the next examination or programme",
        "the size-type",
        "the tare",
    }
)
"""What the judge finds lacking and the paper names itself, line by line."""


def pack_of(context: Context, view: UnitView, *, as_of: datetime | None = None) -> PlatePack:
    """Return the plate pack of a unit as it is shown; `as_of` is the moment it is shown as of."""
    record = paper_values.record_of(view)
    digest = (record.plate or {}).get("photo")
    photo = paper_values.find_picture(context, digest)
    return PlatePack(
        unit=paper_values.unit_of(record),
        issue=paper_values.issue_of(context, view, as_of=as_of),
        plate=_plate(record, view),
        approval=record.approval,
        next_examination=_month(record.next_examination),
        programme=_programme(record, view),
        journey_ends_on=_journey_ends_on(record),
        reading=context.month_reading,
        photo=photo,
        photo_kept_as=None if photo is None else digest,
        photo_says="" if photo is None else _taken(view, digest),
        lacking=_lacking(record, digest, is_here=photo is not None),
    )


def _plate(record: Record, view: UnitView) -> PlateReading | None:
    if record.plate is not None:
        return PlateReading.model_validate_json(orjson.dumps(record.plate))
    if record.approval != "none":
        return None
    said = [row["event"].get("plate") or {} for row in _standing(view)]
    seen_by = next((one.get("seen_by") for one in reversed(said) if one.get("no_plate")), None)
    return PlateReading(no_plate=True, seen_by=seen_by)


def _month(next_examination: str | None) -> Month | None:
    if next_examination is None or next_examination == "programme":
        return None
    return Month.parse(next_examination)


def _programme(record: Record, view: UnitView) -> str | None:
    """Return the programme by its reference, from the plate or the examination that named it."""
    if record.next_examination != "programme":
        return None
    examined = [row["event"].get("programme") for row in _standing(view)]
    named = next((one for one in reversed(examined) if one), None)
    return named or (record.plate or {}).get("programme") or "without a reference"


def _journey_ends_on(record: Record) -> date | None:
    ends = record.sale.journey_ends_on if record.sale is not None else None
    return None if ends is None else date.fromisoformat(ends)


def _taken(view: UnitView, digest: str | None) -> str:
    """Say which report the photo came with; it stands there by its digest."""
    for row in view.history:
        event = row["event"]
        if digest in event["photos"] or digest == (event.get("plate") or {}).get("photo"):
            day = row["effective_at"][:16].replace("T", " ")
            return f"Handed in with {row['kind']} of {day} UTC at {row['depot']}"
    return ""


def _lacking(record: Record, digest: str | None, *, is_here: bool) -> tuple[str, ...]:
    more = [lack for lack in lacks_of_pack(record) if lack not in _SEEN_BY_THE_PACK]
    if digest is not None and not is_here:
        more.append(f"the file of the photo {digest}: it is named, but it is not in the store")
    return tuple(more)


def _standing(view: UnitView) -> list[dict[str, Any]]:
    return [row for row in view.history if row["replaced_by"] is None]
