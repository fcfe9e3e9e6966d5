"""Months, loads and thresholds of the safety plate."""

from datetime import date
from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.months import Month
from shared.plates import (
    AccelerationError,
    ExaminationState,
    MonthReading,
    base_area_m2,
    examination_on,
    first_examination_due,
    is_examined_for,
    is_in_scope,
    is_racking_limited,
    is_stacking_limited,
    last_valid_day,
    next_examination_due,
    racking_agrees,
    racking_newtons,
    stacking_at,
    stacking_from_post_load,
)

STRICT, LENIENT = MonthReading.STRICT, MonthReading.LENIENT
DUE = Month(2026, 9)


def state(day: date, reading: MonthReading) -> ExaminationState:
    return examination_on(day, next_examination=DUE, programme=None, reading=reading)


def test_last_valid_day_of_each_reading() -> None:
    assert last_valid_day(DUE, STRICT) == date(2026, 8, 31)
    assert last_valid_day(DUE, LENIENT) == date(2026, 9, 30)
    assert last_valid_day(Month(2024, 3), STRICT) == date(2024, 2, 29)


@pytest.mark.parametrize(
    ("day", "strict", "lenient"),
    [
        (date(2026, 8, 31), ExaminationState.VALID, ExaminationState.VALID),
        (date(2026, 9, 1), ExaminationState.LAST_MONTH, ExaminationState.VALID),
        (date(2026, 9, 30), ExaminationState.LAST_MONTH, ExaminationState.VALID),
        (date(2026, 10, 1), ExaminationState.PASSED, ExaminationState.PASSED),
    ],
)
def test_examination_around_its_month(
    day: date, strict: ExaminationState, lenient: ExaminationState
) -> None:
    assert state(day, STRICT) is strict
    assert state(day, LENIENT) is lenient


@given(st.dates(date(2020, 1, 1), date(2032, 12, 31)), st.sampled_from(MonthReading))
@settings(derandomize=True, max_examples=200)
def test_examined_for_a_journey_means_its_end_is_not_past_the_last_valid_day(
    day: date, reading: MonthReading
) -> None:
    holds = is_examined_for(day, next_examination=DUE, programme=None, reading=reading)
    assert holds is (day <= last_valid_day(DUE, reading))


def test_programme_stands_before_a_passed_date() -> None:
    passed = date(2030, 1, 1)
    on = partial(examination_on, next_examination=DUE, programme="ACEP-XX-1", reading=STRICT)
    assert on(passed) is ExaminationState.PROGRAMME
    held = partial(is_examined_for, next_examination=DUE, programme="ACEP-XX-1", reading=STRICT)
    assert held(passed) is True


def test_neither_date_nor_programme_is_unknown_and_does_not_hold() -> None:
    on = partial(examination_on, next_examination=None, programme=None, reading=LENIENT)
    assert on(date(2026, 1, 1)) is ExaminationState.UNKNOWN
    held = partial(is_examined_for, next_examination=None, programme=None, reading=LENIENT)
    assert held(date(2026, 1, 1)) is False


def test_intervals_are_60_and_30_months() -> None:
    assert Month(2019, 3).months_until(first_examination_due(Month(2019, 3))) == 60
    assert Month(2019, 3).months_until(next_examination_due(Month(2019, 3))) == 30


def test_stacking_from_post_load_rounds_down() -> None:
    assert stacking_from_post_load(86_400) == 192_000
    assert stacking_from_post_load(1) == 2


def test_stacking_at_the_plate_acceleration_is_the_plate_value() -> None:
    assert stacking_at(192_000, Decimal("1.8")) == 192_000
    assert stacking_at(100_000, Decimal("1.7")) == 105_882


@pytest.mark.parametrize("acceleration", ["0.99", "0", "-1"])
def test_stacking_below_one_g_is_refused(acceleration: str) -> None:
    with pytest.raises(AccelerationError) as caught:
        stacking_at(192_000, Decimal(acceleration))
    assert caught.value.acceleration_g == Decimal(acceleration)


def test_stacking_at_rest_is_allowed() -> None:
    assert stacking_at(192_000, Decimal(1)) == 345_600


def test_strength_is_limited_only_below_its_threshold() -> None:
    assert is_stacking_limited(191_999) is True
    assert is_stacking_limited(192_000) is False


@pytest.mark.parametrize(
    ("newtons", "kilograms", "limited"),
    [
        (150_000, None, False),
        (149_999, None, True),
        (None, 15_240, False),
        (None, 15_239, True),
        (150_000, 15_000, False),
        (None, None, False),
    ],
)
def test_racking_is_limited_in_either_unit(
    newtons: int | None, kilograms: int | None, limited: bool
) -> None:
    assert is_racking_limited(racking_n=newtons, racking_kg=kilograms) is limited


def test_racking_pair_agrees_within_one_percent() -> None:
    assert racking_newtons(15_240) == 149_453
    assert racking_agrees(150_000, 15_240)
    assert racking_agrees(150_947, 15_240)
    assert not racking_agrees(150_949, 15_240)
    assert racking_agrees(147_959, 15_240)
    assert not racking_agrees(147_957, 15_240)
    assert not racking_agrees(150, 15_240)


@pytest.mark.parametrize(
    ("area", "top_fittings", "in_scope"),
    [
        ("7", True, True),
        ("6.99", True, False),
        ("14", False, True),
        ("13.99", False, False),
    ],
)
def test_scope_by_base_area(area: str, top_fittings: bool, in_scope: bool) -> None:
    assert is_in_scope(Decimal(area), has_top_fittings=top_fittings) is in_scope


def test_base_area_is_in_square_metres() -> None:
    assert base_area_m2(2991, 2438) == Decimal("7.292058")
