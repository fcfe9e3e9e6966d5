"""What a look at a unit found: inspections, examinations, surveys, complaints."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field

from schemas.base import LongText, Model, MonthField, Text
from schemas.events.base import Fact, PersonalNote
from schemas.readings import Masses, PlateReading


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


class Damage(Model):
    """One damage: where, on what, of what kind, how big, and by when it is to be mended."""

    place: Text | None = None
    """Four characters of the location grid, face first."""
    component: Text
    kind: Text
    measured_mm: Annotated[int, Field(ge=0, le=20_000)] | None = None
    urgency: Urgency = Urgency.WHEN_CONVENIENT
    mend_by: date | None = None
    on_lorry: bool = False
    """It was there before the unit was lifted off: somebody else's to answer for."""


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
