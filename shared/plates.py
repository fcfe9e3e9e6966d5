"""The safety approval plate: examination months, strength thresholds, loads, and scope.

Plate dates have a month and no day, so every interval is reckoned in whole months.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import assert_never

from shared.errors import KnowledgeError
from shared.months import Month
from shared.table_files import TableRow, load_table

_THRESHOLDS: dict[str, TableRow] = {row["name"]: row for row in load_table("plate_thresholds")}


def _whole(name: str) -> int:
    return int(_THRESHOLDS[name]["value"])


FIRST_EXAMINATION_MONTHS = _whole("first-examination")
LATER_EXAMINATION_MONTHS = _whole("later-examination")
CSC_STACKING_KG = _whole("stacking-csc")
CSC_RACKING_N = _whole("racking-csc")
OLD_PLATE_RACKING_KG = _whole("racking-csc-old-plate")
ISO1496_STACKING_KG = _whole("stacking-iso1496")
BASE_AREA_WITH_TOP_FITTINGS_M2 = _whole("base-area-with-top-fittings")
BASE_AREA_WITHOUT_TOP_FITTINGS_M2 = _whole("base-area-without-top-fittings")
PLATE_ACCELERATION_G = Fraction(_THRESHOLDS["plate-acceleration"]["value"])

_STANDARD_GRAVITY = Fraction("9.80665")
_POSTS = 4
_RACKING_TOLERANCE = Fraction(1, 100)


class MonthReading(StrEnum):
    """How the month on a plate is read.

    `STRICT`: the examination must be done before the month begins, as the text says. `LENIENT`: the
    month is valid to its last day, as many people treat it.
    """

    STRICT = "strict"
    LENIENT = "lenient"


class ExaminationState(StrEnum):
    """How a plate's examination stands on a day.

    `LAST_MONTH` is the marked month itself under the strict reading: lapsed by the text, valid as
    many read it. `PROGRAMME` needs no date. `UNKNOWN` has neither.
    """

    VALID = "valid"
    LAST_MONTH = "last month"
    PASSED = "passed"
    PROGRAMME = "programme"
    UNKNOWN = "unknown"


class AccelerationError(KnowledgeError):
    """A vertical acceleration that no journey has; carries it in multiples of g."""

    def __init__(self, acceleration_g: Decimal) -> None:
        self.acceleration_g = acceleration_g
        super().__init__(
            f"{acceleration_g} g is no vertical acceleration of a stack",
            expected="1 g at rest, up to 1.8 g for any journey",
            remedy="Ask the carrier for the acceleration of the journey",
        )


def first_examination_due(manufactured_in: Month) -> Month:
    """Return the latest month that may be marked for the first examination."""
    return manufactured_in.plus(FIRST_EXAMINATION_MONTHS)


def next_examination_due(examined_in: Month) -> Month:
    """Return the latest month that may be marked after an examination."""
    return examined_in.plus(LATER_EXAMINATION_MONTHS)


def last_valid_day(next_examination: Month, reading: MonthReading) -> date:
    """Return the last day on which a box marked with `next_examination` is in date."""
    match reading:
        case MonthReading.STRICT:
            return next_examination.first_day() - timedelta(days=1)
        case MonthReading.LENIENT:
            return next_examination.last_day()
        case _:
            assert_never(reading)


def examination_on(
    day: date,
    *,
    next_examination: Month | None,
    programme: str | None,
    reading: MonthReading,
) -> ExaminationState:
    """Return how the examination stands on `day`: today, or the day a journey ends.

    A programme stands in place of a date and goes before it. Whether the programme is still the
    owner's is not known here.

    Source:
        CTU Code annex 4 1.2.2 and 1.2.3, read; the strict reading is the wording of 49 CFR
        452.1(b), one text.
    """
    if programme is not None:
        return ExaminationState.PROGRAMME
    if next_examination is None:
        return ExaminationState.UNKNOWN
    return month_state(Month.of(day).months_until(next_examination), reading)


def month_state(months_left: int, reading: MonthReading) -> ExaminationState:
    """Return how an examination stands whose marked month lies `months_left` months ahead."""
    if months_left > 0:
        return ExaminationState.VALID
    if months_left < 0:
        return ExaminationState.PASSED
    lenient = reading is MonthReading.LENIENT
    return ExaminationState.VALID if lenient else ExaminationState.LAST_MONTH


def is_examined_for(
    journey_ends: date,
    *,
    next_examination: Month | None,
    programme: str | None,
    reading: MonthReading,
) -> bool:
    """Tell whether the examination holds to the end of a journey under the chosen reading."""
    state = examination_on(
        journey_ends,
        next_examination=next_examination,
        programme=programme,
        reading=reading,
    )
    return state in (ExaminationState.VALID, ExaminationState.PROGRAMME)


def stacking_from_post_load(post_kg: int) -> int:
    """Return the allowable stacking load of a plate from the test load on one corner post.

    Both in whole kg; the result is rounded down, to the safe side.

    Source:
        CSC.1/Circ.138/Rev.1 16.2: test load per post x 4 / 1.8, one text.
    """
    return int(post_kg * _POSTS / PLATE_ACCELERATION_G)


def stacking_at(stacking_kg: int, acceleration_g: Decimal) -> int:
    """Return what a plate's stacking load allows on a journey of another vertical acceleration.

    Whole kg, rounded down.

    Raises:
        AccelerationError: less than 1 g, which no stack ever has.

    Source:
        CSC.1/Circ.138/Rev.1 16.3: load x 1.8 / a, one text.
    """
    if acceleration_g < 1:
        raise AccelerationError(acceleration_g)
    return int(stacking_kg * PLATE_ACCELERATION_G / Fraction(acceleration_g))


def racking_newtons(racking_kg: int) -> int:
    """Return the racking force of an older plate's test load, N, to the nearest whole."""
    return round(racking_kg * _STANDARD_GRAVITY)


def racking_agrees(racking_n: int, racking_kg: int) -> bool:
    """Tell whether a force and a test load mean one racking strength, within 1 %.

    Plates print 150 000 N for 15 240 kg, which is 149 453 N.
    """
    exact = racking_kg * _STANDARD_GRAVITY
    return abs(racking_n - exact) <= exact * _RACKING_TOLERANCE


def is_stacking_limited(stacking_kg: int) -> bool:
    """Tell whether a stacking load counts as limited under the Convention: below 192 000 kg."""
    return stacking_kg < CSC_STACKING_KG


def is_racking_limited(*, racking_n: int | None, racking_kg: int | None) -> bool:
    """Tell whether a racking strength counts as limited: below 150 kN, or its 15 240 kg.

    The force goes before the test load; neither known limits nothing.
    """
    if racking_n is not None:
        return racking_n < CSC_RACKING_N
    return racking_kg is not None and racking_kg < OLD_PLATE_RACKING_KG


def base_area_m2(length_mm: int, width_mm: int) -> Decimal:
    """Return the area between the four outer bottom corners."""
    return Decimal(length_mm * width_mm).scaleb(-6)


def is_in_scope(area_m2: Decimal, *, has_top_fittings: bool) -> bool:
    """Tell whether the Convention takes a box for a container by its base area.

    Source:
        CSC art. II: 14 m2, or 7 m2 with top corner fittings, read.
    """
    if has_top_fittings:
        return area_m2 >= BASE_AREA_WITH_TOP_FITTINGS_M2
    return area_m2 >= BASE_AREA_WITHOUT_TOP_FITTINGS_M2
