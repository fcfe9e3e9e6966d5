"""The plate pack: the plate's photo with its data as read and checked, as PDF and as JSON."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import date
from typing import Any, Final

import orjson
from pydantic import computed_field

from schemas.base import Model, MonthField
from schemas.readings import PlateReading
from schemas.records import Approval
from shared.masses import write_kilograms, write_newtons, write_pounds
from shared.plate_lines import PLATE_LINES, PlateLine
from shared.plates import ExaminationState, MonthReading, examination_on, last_valid_day
from shared.table_files import Certainty
from tracker.papers import particulars, typesetting
from tracker.papers.particulars import UNKNOWN, Issue, Unit

_UNITS: Final = {"_kg": write_kilograms, "_lb": write_pounds, "_n": write_newtons}
_APPROVALS: Final[dict[Approval, str]] = {
    "approved": "approved",
    "unknown": "not known",
    "ask": "in question: the approving body is to be asked after work on the shell",
    "void": "void until re-approved",
    "none": "none: the unit bears no plate",
}


class PlatePack(Model):
    """What a carrier asks for before a unit moves under the Convention."""

    unit: Unit
    issue: Issue
    plate: PlateReading | None = None
    """None when nobody has read the plate."""
    approval: Approval = "unknown"
    next_examination: MonthField | None = None
    """As it now stands, which an examination may have moved past what the plate read then said."""
    programme: str | None = None
    journey_ends_on: date | None = None
    reading: MonthReading = MonthReading.STRICT
    photo: bytes | None = None
    photo_kept_as: str | None = None
    """The digest that the photo has in the store, where a smaller copy of it is shown."""
    photo_says: str = ""
    """Where and when it was taken, from the event that it belongs to."""
    lacking: tuple[str, ...] = ()
    """What the judgement found missing beyond what this pack sees by itself."""

    @computed_field  # type: ignore[prop-decorator]  # mypy knows no decorated property
    @property
    def missing(self) -> tuple[str, ...]:
        """What the pack lacks, in words; empty when it is complete."""
        return tuple(dict.fromkeys((*_missing(self), *self.lacking)))

    @property
    def photo_digest(self) -> str | None:
        """The SHA-256 of the photo, by which it is found in the store."""
        if self.photo is None:
            return None
        return self.photo_kept_as or hashlib.sha256(self.photo).hexdigest()

    @property
    def examination(self) -> ExaminationState:
        """How the examination stands at the journey's end, else on the day of the pack."""
        return examination_on(
            _day(self),
            next_examination=self.next_examination,
            programme=self.programme,
            reading=self.reading,
        )


def plate_pack_pdf(pack: PlatePack) -> bytes:
    """Return the pack as PDF; raises `PaperError` only when a template is broken."""
    photo = typesetting.picture(pack.photo)
    no_plate = pack.plate is not None and pack.plate.no_plate
    missing = pack.missing
    values = {
        "title": "Plate pack",
        "subject": particulars.write_mark(pack.unit),
        "subtitle": "Safety approval plate, masses and examination",
        "issue": particulars.issue_values(pack.issue),
        "unit": particulars.unit_values(pack.unit),
        "verdict": "Not complete. Missing:" if missing else "Complete",
        "verdict_says": "Every line that the Convention asks for was read, and the photo is here.",
        "missing": missing,
        "hindrances": hindrances(pack),
        "examination": _examination(pack),
        "plate": [] if pack.plate is None or no_plate else _plate_rows(pack.plate),
        "plate_says": _plate_says(pack.plate),
        "photo": photo,
        "photo_says": _photo_says(pack, shown=photo is not None),
    }
    return typesetting.typeset("plate_pack", values, pack.issue.at)


def plate_pack_json(pack: PlatePack) -> bytes:
    """Return the pack as UTF-8 JSON with sorted keys; the photo stands in it by its digest."""
    said = pack.model_dump(mode="json", exclude={"photo", "photo_kept_as", "photo_says", "lacking"})
    plate = None if pack.plate is None or pack.plate.no_plate else pack.plate
    said |= {
        "complete": not said["missing"],
        "hindrances": hindrances(pack),
        "examination": {"state": pack.examination.value, "on": _day(pack).isoformat()},
        "photo": None if pack.photo is None else {"sha256": pack.photo_digest},
        "plate_lines": [] if plate is None else list(_json_lines(plate)),
    }
    return orjson.dumps(said, option=orjson.OPT_SORT_KEYS)


def hindrances(pack: PlatePack) -> tuple[str, ...]:
    """Return what speaks against a journey though it was read: a pack may be complete and say no.

    What is not known is missing, and stands there.
    """
    approval = () if pack.approval == "approved" else (f"approval {_APPROVALS[pack.approval]}",)
    lapsed = pack.examination in (ExaminationState.PASSED, ExaminationState.LAST_MONTH)
    examination = (f"examination on {_day(pack)}: {_state_says(pack.examination)}",)
    return (*approval, *(examination if lapsed else ()))


def _day(pack: PlatePack) -> date:
    return pack.journey_ends_on or pack.issue.day


def _missing(pack: PlatePack) -> Iterator[str]:
    if pack.unit.mark is None:
        yield "the mark"
    if pack.unit.size_type is None:
        yield "the size-type code"
    for field, name in (("gross_kg", "maximum gross mass"), ("tare_kg", "tare")):
        if getattr(pack.unit.masses, field) is None:
            yield f"the {name} as marked on the doors"
    yield from _missing_plate(pack)
    if pack.next_examination is None and pack.programme is None:
        yield "the date of the next examination, or its programme"
    if typesetting.picture(pack.photo) is None:
        yield "a photo of the plate" if pack.photo is None else "a photo of the plate that opens"


def _missing_plate(pack: PlatePack) -> Iterator[str]:
    if pack.plate is None:
        yield "the plate's lines: nobody has read them"
    elif pack.plate.no_plate:
        yield "a safety approval plate: somebody looked, and there is none"
    else:
        for line in PLATE_LINES:
            if _is_required(line) and not _read(line, pack.plate):
                yield f"line {line.number} of the plate ({line.title or line.content})"


def _is_required(line: PlateLine) -> bool:
    # The last line may have moved on since the plate was read: what stands today is asked apart.
    conditional = line.only_if or "next_examination" in line.fields
    return bool(line.fields) and not conditional and line.certainty is Certainty.READ


def _read(line: PlateLine, plate: PlateReading) -> dict[str, Any]:
    fields = dict.fromkeys((*line.fields, *line.fields_before_2014))
    values = {field: getattr(plate, field) for field in fields}
    return {field: value for field, value in values.items() if value is not None}


def _plate_rows(plate: PlateReading) -> list[list[str]]:
    rows = []
    for line in PLATE_LINES:
        values = _read(line, plate)
        if not line.fields or not (values or _is_required(line)):
            continue
        number = line.number if len(line.number) == 1 else ""
        said = " · ".join(_write(field, value) for field, value in values.items())
        rows.append([number, _titles(line), said or "not read"])
    return rows


def _titles(line: PlateLine) -> str:
    titles = dict.fromkeys((line.title, line.title_before_2014))
    return "\n".join(title for title in titles if title) or f"({line.content})"


def _write(field: str, value: object) -> str:
    for ending, write in _UNITS.items():
        if field.endswith(ending) and isinstance(value, int):
            return write(value)
    return f"{value} P" if field.endswith("_factor") else str(value)


def _json_lines(plate: PlateReading) -> Iterator[dict[str, Any]]:
    written = plate.model_dump(mode="json")
    for line in PLATE_LINES:
        if values := _read(line, plate):
            yield {
                "line": line.number,
                "title": line.title,
                "title_before_2014": line.title_before_2014,
                "content": line.content,
                "values": {field: written[field] for field in values},
            }


def _plate_says(plate: PlateReading | None) -> str:
    if plate is None:
        return "Nobody has read the plate yet."
    if plate.no_plate:
        return "Somebody looked: the unit bears no safety approval plate."
    return "Written as on the plate; P is the payload. Pounds and kilograms both stand as printed."


def _photo_says(pack: PlatePack, *, shown: bool) -> str:
    if pack.photo is None:
        return "There is no photo of the plate."
    missing = "" if shown else "The photo cannot be shown. "
    return " · ".join(
        part for part in (f"{missing}{pack.photo_says}", f"SHA-256 {pack.photo_digest}") if part
    )


def _examination(pack: PlatePack) -> list[list[str]]:
    ends = f"{_day(pack)}" + ("" if pack.journey_ends_on else " (day of this pack)")
    return [
        ["Approval", _APPROVALS[pack.approval]],
        ["Next examination", _next_examination(pack)],
        ["Journey ends on", ends],
        ["Examination on that day", _state_says(pack.examination)],
    ]


def _next_examination(pack: PlatePack) -> str:
    if pack.programme is not None:
        return f"programme {pack.programme}"
    if pack.next_examination is None:
        return UNKNOWN
    until = last_valid_day(pack.next_examination, pack.reading)
    return f"{pack.next_examination}, in date to {until}"


def _state_says(state: ExaminationState) -> str:
    return {
        ExaminationState.VALID: "in date",
        ExaminationState.LAST_MONTH: "runs out: it falls in the month marked on the plate",
        ExaminationState.PASSED: "LAPSED",
        ExaminationState.PROGRAMME: "under a continuous programme, while its owner keeps it",
        ExaminationState.UNKNOWN: "NOT KNOWN",
    }[state]
