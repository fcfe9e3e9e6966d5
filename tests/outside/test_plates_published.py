"""The safety plate against published examples, and its months against dateutil."""

from datetime import date
from decimal import Decimal

import pytest
from dateutil.relativedelta import relativedelta

from shared.months import Month
from shared.plates import (
    CSC_RACKING_N,
    CSC_STACKING_KG,
    ISO1496_STACKING_KG,
    MonthReading,
    base_area_m2,
    first_examination_due,
    is_in_scope,
    is_racking_limited,
    last_valid_day,
    next_examination_due,
    racking_newtons,
    stacking_at,
    stacking_from_post_load,
)

ALL_MONTHS = [Month(year, number) for year in range(1977, 2041) for number in range(1, 13)]


# Intervals: CSC Annex I reg. 2, CTU Code 8.2.1.3, 49 CFR 452.1(a).
def test_first_examinations_are_those_of_dateutil() -> None:
    for made in ALL_MONTHS:
        expected = made.first_day() + relativedelta(months=60)
        assert first_examination_due(made).first_day() == expected


def test_later_examinations_are_those_of_dateutil() -> None:
    for examined in ALL_MONTHS:
        expected = examined.first_day() + relativedelta(months=30)
        assert next_examination_due(examined).first_day() == expected


def test_last_valid_days_are_those_of_dateutil() -> None:
    for due in ALL_MONTHS:
        before = due.first_day() + relativedelta(days=-1)
        end = due.first_day() + relativedelta(day=31)
        assert last_valid_day(due, MonthReading.STRICT) == before
        assert last_valid_day(due, MonthReading.LENIENT) == end


# Worked with months only, from the intervals above.
@pytest.mark.parametrize(
    ("examined", "due"),
    [(Month(2024, 3), Month(2026, 9)), (Month(2021, 12), Month(2024, 6))],
)
def test_worked_later_examinations(examined: Month, due: Month) -> None:
    assert next_examination_due(examined) == due


def test_worked_first_examination() -> None:
    assert first_examination_due(Month(2019, 3)) == Month(2024, 3)


# 49 CFR 452.1(b): the month and year BEFORE which the container must next be examined.
def test_worked_strict_reading() -> None:
    assert last_valid_day(Month(2026, 9), MonthReading.STRICT) == date(2026, 8, 31)


# CSC.1/Circ.138 16.2 (post load x 4 / 1.8). 86 400 kg: ISO 1496 as a US national laboratory quotes
# it, 8 on 1 of 24 000 kg. 96 012 kg: seven of 30 480 kg. 97 200 kg: calculated.
@pytest.mark.parametrize(
    ("post_kg", "stacking_kg"),
    [(86_400, 192_000), (96_012, 213_360), (97_200, 216_000), (45_720, 101_600)],
)
def test_stacking_from_post_loads(post_kg: int, stacking_kg: int) -> None:
    assert stacking_from_post_load(post_kg) == stacking_kg


def test_stacking_loads_are_stacks_of_boxes() -> None:
    assert stacking_from_post_load(86_400) == 8 * 24_000 == CSC_STACKING_KG
    assert stacking_from_post_load(96_012) == 7 * 30_480 == ISO1496_STACKING_KG
    # CSC.1/Circ.138 16.1: six high of 20 320 kg, 101 600 kg (224 000 lb) on the plate.
    assert stacking_from_post_load(45_720) == 5 * 20_320


# CSC.1/Circ.138 16.3: load x 1.8 / a, so 1.2 g carries half as much again.
def test_stacking_on_a_calmer_journey() -> None:
    assert stacking_at(192_000, Decimal("1.2")) == 288_000
    assert stacking_at(101_600, Decimal("1.2")) == 152_400


# CSC Annex I reg. 1(3) after MSC.355(92): 150 kN; older plates print 15 240 kg for the same.
def test_racking_threshold_in_both_units() -> None:
    assert CSC_RACKING_N == 150_000
    assert round(racking_newtons(15_240) / 1000, 1) == 149.5
    assert not is_racking_limited(racking_n=None, racking_kg=15_240)


# CSC art. II: 14 m2, or 7 m2 with top corner fittings. A 10 ft ISO box has 7.29 m2; a box of 8 ft
# by 2.2 m has 5.4 m2.
def test_scope_of_a_ten_and_an_eight_foot_box() -> None:
    ten, eight = base_area_m2(2991, 2438), base_area_m2(2438, 2200)
    assert (round(ten, 2), round(eight, 1)) == (Decimal("7.29"), Decimal("5.4"))
    assert is_in_scope(ten, has_top_fittings=True)
    assert not is_in_scope(ten, has_top_fittings=False)
    assert not is_in_scope(eight, has_top_fittings=True)
    assert is_in_scope(base_area_m2(6058, 2438), has_top_fittings=False)
