"""The checklist that fits a unit: what to look at, why, and what is expected to be seen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from schemas.events.deal import IntendedUse
from schemas.records import Record
from shared import checklist, expectations
from shared.cautions import CAUTIONS
from shared.checklist import AnswerKind, Check
from shared.errors import KnowledgeError
from shared.old_size_types import OldSizeType
from shared.plate_lines import PLATE_LINES
from shared.size_types import SizeType, decode_size_type, read_size_type, what_follows
from shared.table_files import Certainty


@dataclass(frozen=True, slots=True)
class Expected:
    """What is usually seen, or a known variant; a reason to look again, no more."""

    words: str
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class CheckItem:
    """One item as it is put to the inspector of one unit.

    `lines` are the lines of the plate, for the item that reads it. `known` is what the record says
    already and the eye should confirm. `inside`: nobody answers it before the air was seen to.
    """

    id: str
    room: str
    answer: AnswerKind
    words: str
    why: str
    caution: str
    expected: tuple[Expected, ...]
    lines: tuple[str, ...]
    known: tuple[str, ...]
    inside: bool
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class Build:
    """What a size-type code tells that decides what is looked at; None where it is not known."""

    length_ft: int | None = None
    family: str | None = None
    high: bool | None = None
    follows: tuple[str, ...] = ()


def checklist_for(record: Record, *, intended_use: IntendedUse) -> tuple[CheckItem, ...]:
    """Return what to look at on the unit of `record`, in order; what is before going in is first.

    What is not known of the unit leaves nothing out: an unread size-type asks for everything.
    """
    build = build_of(record.size_type)
    return tuple(_item(check, record, build) for check in checks_for(record, build, intended_use))


def checks_for(record: Record, build: Build, intended_use: IntendedUse) -> tuple[Check, ...]:
    """Return the items that the unit is asked."""
    return checklist.checks_about(intended_use, build.family, record.provenance, high=build.high)


@lru_cache(maxsize=1024)
def build_of(size_type: str | None) -> Build:
    """Return what a code tells of the box; nothing for one that is missing or unreadable."""
    if size_type is None:
        return Build()
    try:
        read = read_size_type(size_type)
        if isinstance(read, OldSizeType):
            return _old_build(read)
    except KnowledgeError:
        return Build()
    return Build(
        None if read.length.feet is None else int(read.length.feet),
        read.code[2],
        read.needs_height_marks,
        what_follows(read),
    )


def practice_provenance(provenance: str | None) -> str | None:
    """Return the provenance as expectations know it: refurbished units were used."""
    return "used" if provenance == "refurbished" else provenance


def _old_build(old: OldSizeType) -> Build:
    today: SizeType | None = None if old.suggested is None else decode_size_type(old.suggested)
    family = None if today is None else today.code[2]
    return Build(old.length_ft, family, old.is_over_8_ft_6_in if old.from_mm else None)


def _item(check: Check, record: Record, build: Build) -> CheckItem:
    return CheckItem(
        id=check.id,
        room=check.room,
        answer=check.answer,
        words=check.words,
        why=check.why,
        caution=CAUTIONS[check.caution] if check.caution else "",
        expected=tuple(_expected(check, record, build)),
        lines=tuple(_plate_lines()) if check.answer is AnswerKind.PLATE else (),
        known=tuple(_known(check, record, build)),
        inside=check.inside,
        source=check.source,
        certainty=check.certainty,
    )


def _expected(check: Check, record: Record, build: Build) -> Iterator[Expected]:
    if check.part:
        for one in expectations.list_expectations(
            check.part,
            length_ft=build.length_ft,
            provenance=practice_provenance(record.provenance),
        ):
            yield Expected(one.words, one.source, one.certainty)


def _plate_lines() -> Iterator[str]:
    for line in PLATE_LINES:
        title = line.title or line.content
        yield f"{title} ({line.content})" if line.title and line.content else title


def _known(check: Check, record: Record, build: Build) -> Iterator[str]:
    """What the record or the code says already about an item."""
    if check.answer is AnswerKind.GAS:
        yield from _known_of_air(record)
    elif check.answer is AnswerKind.PLATE:
        yield from _known_of_plate(record)
    elif word := _CODE_TELLS.get(check.id):
        yield from (says for says in build.follows if word in says.lower())


_CODE_TELLS = {"small-vents": "vent", "height-marks": "8 ft 6 in"}
"""The items of which a size-type code tells, by a word of the sentence that does."""


def _known_of_air(record: Record) -> Iterator[str]:
    if record.placards:
        yield f"Seen on it: {record.placards}."
    if record.last_cargo:
        yield f"Last cargo: {record.last_cargo}."
    yield f"The air is {_AIR[record.air]}."


def _known_of_plate(record: Record) -> Iterator[str]:
    if record.plate is not None:
        if not record.plate.get("photo"):
            yield "It was read, but not photographed."
    elif record.approval == "none":
        yield "The record says that there is no plate."
    else:
        yield "Nobody has read it yet."


_AIR = {
    "unknown": "not known: treat it as bad",
    "suspect": "suspect",
    "ventilated": "said to be aired; air it again where it was shut since",
    "tested": "tested clear; test it again where it was shut since",
}
