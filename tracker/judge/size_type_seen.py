"""Findings of the family `size` that set a code against what somebody saw or measured."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from schemas.findings import Finding, Severity
from shared import size_type_tables
from shared.dimensions import Quantity, designations, dimensions_of, find_designation
from shared.old_size_types import OldSizeType
from shared.size_type_parts import Vents
from shared.size_types import SizeType, decode_size_type
from shared.table_files import Certainty
from tracker.judge.rules import Rule

FIELD: Final = "size_type"
_TAPE_LENGTH_MM: Final = 50
_TAPE_DOOR_MM: Final = 25
"""What a tape in the yard may be wrong by; ours, no standard's."""
_END_DOOR_GROUPS: Final = frozenset(("GP", "VH"))

VENTS_DISAGREE = Rule(
    id="size.vents-disagree",
    severity=Severity.WARN,
    sentence="{code} says {says}, but {seen} small vents were counted.",
    source="ISO 6346:1995 Annex D, type codes; BIC size-type leaflet",
    certainty=Certainty.READ,
    means="The type code promises vents or promises none, and the count says otherwise. Louvre "
    "vents fitted afterwards do not count. Look again; the code may have to be repainted.",
)
HIGH_BOX_MARKS = Rule(
    id="size.high-box-marks",
    severity=Severity.NOTE,
    sentence="{code} is {seen} high: a box over 8 ft 6 in (2600 mm) bears its height on both "
    "sides and black and yellow stripes on the top members at each corner.",
    source="ISO 6346, mandatory operational marks",
    certainty=Certainty.ONE_TEXT,
    means="The code tells of a high box, and nobody has said yet whether it bears height marks.",
)
HEIGHT_MARKS_MISSING = Rule(
    id="size.height-marks-missing",
    severity=Severity.WARN,
    sentence="{code} is {seen} high, but the height marks are missing: the height on both sides "
    "and black and yellow stripes at the top corners.",
    source="ISO 6346, mandatory operational marks",
    certainty=Certainty.ONE_TEXT,
    means="A high box without height marks. Paint them, or find that the code is wrong.",
)
DOOR_HEIGHT_DISAGREES = Rule(
    id="size.door-height-disagrees",
    severity=Severity.WARN,
    sentence="The door opening is {seen} high; a box painted {code} opens {expected}.",
    source="ISO 668 and ISO 1496-1, minimum door openings, with 25 mm for the tape",
    certainty=Certainty.READ,
    means="The door opening belongs to a box of another height than the code tells.",
)
LENGTH_DISAGREES = Rule(
    id="size.length-disagrees",
    severity=Severity.WARN,
    sentence="The box measures {seen} outside; {code} says {expected}.",
    source="ISO 6346 Annex D, length codes, with 50 mm for the tape",
    certainty=Certainty.READ,
    means="The measured length is not the one the code tells: a wrong code, or a cut-down box.",
)
RULES: Final = (
    VENTS_DISAGREE,
    HIGH_BOX_MARKS,
    HEIGHT_MARKS_MISSING,
    DOOR_HEIGHT_DISAGREES,
    LENGTH_DISAGREES,
)

_PROMISES: Final = {
    Vents.NONE: "that there are no vents",
    Vents.PASSIVE: "that there are passive vents near the top",
    Vents.NATURAL: "that there are vents near the floor and the top",
    Vents.MECHANICAL: "that a machine ventilates it",
}


def judge_vents(size_type: SizeType | OldSizeType, counted: int) -> Iterator[Finding]:
    """Set the number of small vents counted against the type; silent when the type says nothing."""
    promised = _promised_vents(size_type)
    wrong = (promised is Vents.NONE and counted > 0) or (
        promised in (Vents.PASSIVE, Vents.NATURAL) and counted == 0
    )
    if promised is not None and wrong:
        says = _PROMISES[promised]
        yield VENTS_DISAGREE.finding(FIELD, seen=counted, code=size_type.code, says=says)


def _promised_vents(size_type: SizeType | OldSizeType) -> Vents | None:
    if isinstance(size_type, OldSizeType):
        if size_type.suggested is None:
            return None
        size_type = decode_size_type(size_type.suggested)
    meaning = size_type.only_meaning
    return None if meaning is None else meaning.vents


def judge_height_marks(
    size_type: SizeType | OldSizeType, *, seen: bool | None
) -> Iterator[Finding]:
    """Say that a high box bears height marks (`seen` is None), or that they are missing."""
    if isinstance(size_type, OldSizeType):
        height, needs = size_type.height, size_type.is_over_8_ft_6_in
    else:
        height, needs = size_type.height.words, size_type.needs_height_marks
    if needs and not seen:
        rule = HIGH_BOX_MARKS if seen is None else HEIGHT_MARKS_MISSING
        yield rule.finding(FIELD, seen=height, code=size_type.code)


def judge_door_height(size_type: SizeType, measured_mm: int) -> Iterator[Finding]:
    """Set the door opening against the heights of ISO 668; silent outside that series."""
    least = _least_door_mm(size_type)
    if least is None:
        return
    higher = min((mm for mm in _door_heights() if mm > least), default=None)
    too_high = higher is not None and measured_mm >= higher - _TAPE_DOOR_MM
    if too_high or measured_mm < least - _TAPE_DOOR_MM:
        upper = "" if higher is None else f" and less than {higher} mm"
        expected = f"at least {least} mm{upper}"
        yield DOOR_HEIGHT_DISAGREES.finding(
            FIELD, seen=f"{measured_mm} mm", expected=expected, code=size_type.code
        )


def _least_door_mm(size_type: SizeType) -> int | None:
    meaning, designation = size_type.only_meaning, find_designation(size_type)
    if meaning is None or meaning.group not in _END_DOOR_GROUPS or designation is None:
        return None
    door = dimensions_of(designation).get(Quantity.DOOR_HEIGHT)
    return None if door is None else door.mm


def _door_heights() -> set[int]:
    known = (dimensions_of(one).get(Quantity.DOOR_HEIGHT) for one in designations())
    return {door.mm for door in known if door is not None}


def judge_length(size_type: SizeType | OldSizeType, measured_mm: int) -> Iterator[Finding]:
    """Set the measured outside length against the code's."""
    if isinstance(size_type, OldSizeType):
        said_mm, words = size_type.length_mm, f"{size_type.length_ft} ft"
    else:
        said_mm, words = size_type.length.mm, size_type.length.words
    if abs(said_mm - measured_mm) <= _TAPE_LENGTH_MM:
        return
    expected = f"{said_mm} mm" if words.endswith("mm") else f"{said_mm} mm ({words})"
    seen = f"{measured_mm} mm{_length_it_would_be(measured_mm)}"
    yield LENGTH_DISAGREES.finding(FIELD, seen=seen, expected=expected, code=size_type.code)


def _length_it_would_be(measured_mm: int) -> str:
    """Return ` (length code 4)` when a code tells the measured length, else nothing."""
    near = [
        length.code
        for length in size_type_tables.lengths().values()
        if abs(length.mm - measured_mm) <= _TAPE_LENGTH_MM
    ]
    return f" (length code {' or '.join(near)})" if near else ""
