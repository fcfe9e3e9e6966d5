"""What a look at a unit found: inspections, examinations, surveys, complaints."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from schemas.base import LongText, Model, MonthField, Text
from schemas.events.base import Fact, PersonalNote, PersonalText, PhotoDigest
from schemas.readings import Masses, PlateReading
from shared.damage import (
    Component,
    DamageKind,
    DamageWordError,
    read_component,
    read_damage_kind,
)
from shared.damage_locations import DamageLocationError, parse_location
from shared.structural_limits import Measure


class Condition(StrEnum):
    """What a unit is good for, as the inspector decided."""

    CARGO_WORTHY = "cargo-worthy"
    WIND_AND_WATERTIGHT = "wind-and-watertight"
    AS_IS = "as-is"
    SCRAP = "scrap"


class Urgency(StrEnum):
    """How soon damage is to be mended."""

    BEFORE_RELEASE = "before-release"
    SOON = "soon"
    WHEN_CONVENIENT = "when-convenient"


class Found(StrEnum):
    """What was found of one item of the checklist."""

    GOOD = "good"
    DAMAGED = "damaged"
    MISSING = "missing"
    NOT_THERE = "not-there"
    """The unit never had it, and need not have it."""
    NOT_LOOKED_AT = "not-looked-at"


class CheckAnswer(Model):
    """What was found of one item, with what was counted or measured and a remark about the box."""

    found: Found
    count: Annotated[int, Field(ge=0, le=999)] | None = None
    measured_mm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    remark: Text | None = None
    """About the box only; what is about people belongs in the inspection's note."""


CheckId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,39}$")]
"""An item of the checklist, as `shared/tables/checklist.csv` names it."""


class GasCheck(Model):
    """What was done about gas and residues before anybody went in, and who did it."""

    ventilated_by: PersonalText | None = None
    tested_by: PersonalText | None = None
    result: Literal["clear", "not-clear"] | None = None
    """Of the test."""
    entered: bool = False
    last_cargo: Text | None = None
    """As found: residues, papers, a label."""
    labels_off: bool = False
    """Placards and fumigation labels were taken off."""


class LightTest(Model):
    """Doors shut from outside, somebody inside looks for daylight. Never alone."""

    by: PersonalText | None = None
    """Who was inside."""
    second_person: PersonalText | None = None
    """Who stood at the doors and could open them."""
    daylight_seen: bool


def _read_component(value: object) -> Component:
    try:
        return read_component(str(value))
    except DamageWordError as fault:
        raise ValueError(str(fault)) from fault


def _read_kind(value: object) -> DamageKind:
    try:
        return read_damage_kind(str(value))
    except DamageWordError as fault:
        raise ValueError(str(fault)) from fault


def _normal_place(text: str) -> str:
    # A place that cannot be read is kept as said: a damage is reported whatever its place.
    try:
        return str(parse_location(text))
    except DamageLocationError:
        return text


ComponentField = Annotated[Component, BeforeValidator(_read_component)]
"""A component by its key or its words (`door-panel`, `door panel`); written as its key."""

DamageKindField = Annotated[DamageKind, BeforeValidator(_read_kind)]
"""A kind of damage by its key or its words; written as its key."""

Place = Annotated[Text, AfterValidator(_normal_place)]
"""Four characters of the location grid, face first; in capitals where they can be read."""


class Damage(Model):
    """One damage: where, on what, of what kind, how big, and by when it is to be mended."""

    place: Place | None = None
    component: ComponentField
    kind: DamageKindField
    measure: Measure | None = None
    """What was measured or counted, as the control table names it; guessed from the kind if not."""
    measured_mm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    """Whole mm, rounded to the graver side: a dent up, what is left of a plate down."""
    count: Annotated[int, Field(ge=0, le=999)] | None = None
    """How many pieces, such as cross members or locking rods."""
    out_of: Annotated[int, Field(ge=1, le=999)] | None = None
    """How many such pieces the box was built with."""
    urgency: Urgency | None = None
    """Left out, its weight says it: a serious deficiency is mended before release, all else when
    convenient."""
    mend_by: date | None = None
    photos: Annotated[tuple[PhotoDigest, ...], Field(max_length=20)] = ()
    on_lorry: bool = False
    """It was there before the unit was lifted off: somebody else's to answer for."""
    responsible: Text | None = None
    """The firm that answers for damage found on the lorry."""
    notice_by: date | None = None
    """The last day on which that firm can be given notice."""
    notice_given_on: date | None = None


class Inspection(Fact):
    """A unit was inspected and, if the inspector decided so, graded."""

    kind: Literal["inspection"]
    size_type: Text | None = None
    masses: Masses | None = None
    plate: PlateReading | None = None
    condition: Condition | None = None
    damages: Annotated[tuple[Damage, ...], Field(max_length=100)] = ()
    vents_counted: Annotated[int, Field(ge=0, le=99)] | None = None
    marks_in_place: bool | None = None
    answers: Annotated[dict[CheckId, CheckAnswer], Field(max_length=100)] | None = None
    """By item of the checklist; an item left out was not looked at."""
    gas: GasCheck | None = None
    light_test: LightTest | None = None


class Examination(Fact):
    """A safety examination under the Convention took place."""

    kind: Literal["examination"]
    passed: bool
    by: Text
    next_examination: MonthField | None = None
    programme: Text | None = None


class Survey(Fact):
    """A third party surveyed the unit and wrote a certificate."""

    kind: Literal["survey"]
    by: Text
    certificate: Text
    outcome: LongText | None = None


class Complaint(Fact):
    """A customer complained about the unit."""

    kind: Literal["complaint"]
    about: PersonalNote
