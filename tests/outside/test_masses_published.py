"""Masses against published values and against pint, a general library of units."""

from decimal import Decimal

import pint
import pytest

from shared.mass_plausibility import Iso668Edition, find_least_cube, find_rating, list_ratings
from shared.masses import kilograms_to_pounds, pair_agrees, pounds_to_kilograms

UNITS = pint.UnitRegistry(non_int_type=Decimal)

# Pairs as plates, ISO 668 and CSC.1/Circ.138 16.1 (101 600 kg) print them, and the exact pounds.
PRINTED_PAIRS = [
    (30480, 67200, "67196.9"),
    (25400, 56000, "55997.4"),
    (24000, 52900, "52910.9"),
    (24000, 52910, "52910.9"),
    (20320, 44800, "44797.9"),
    (10160, 22400, "22399.0"),
    (36000, 79370, "79366.4"),
    (32500, 71650, "71650.2"),
    (192_000, 423_290, "423287.5"),
    (101_600, 224_000, "223989.7"),
]


@pytest.mark.parametrize(("kilograms", "pounds", "exact"), PRINTED_PAIRS)
def test_printed_pairs_agree_and_convert_as_pint_does(
    kilograms: int, pounds: int, exact: str
) -> None:
    by_pint = UNITS.Quantity(Decimal(kilograms), "kilogram").to("pound").magnitude
    assert abs(kilograms_to_pounds(kilograms) - by_pint) < Decimal("1e-15")
    assert round(by_pint, 1) == Decimal(exact)
    assert pair_agrees(kilograms, pounds)


@pytest.mark.parametrize("pounds", [1, 22400, 24910, 67200, 224_000, 423_290])
def test_pounds_to_kilograms_is_that_of_pint(pounds: int) -> None:
    by_pint = UNITS.Quantity(Decimal(pounds), "pound").to("kilogram").magnitude
    assert abs(pounds_to_kilograms(pounds) - by_pint) < Decimal("1e-15")


@pytest.mark.parametrize(("kilograms", "pounds", "exact"), PRINTED_PAIRS)
def test_a_printed_pair_with_two_digits_swapped_does_not_agree(
    kilograms: int, pounds: int, exact: str
) -> None:
    del exact
    text = str(kilograms)
    swapped = int(text[0] + text[2] + text[1] + text[3:])
    if swapped != kilograms:
        assert not pair_agrees(swapped, pounds)


# Ratings: ISO 668:1995 with Amd 1 and 2 of 2005, as public tables quote it; the column of 2016
# (ISO 668:2013 Amd 2, 36 000 kg except for 10 ft) from memory.
@pytest.mark.parametrize(
    ("length_code", "edition", "kilograms", "pounds"),
    [
        ("4", "1995", 30480, 67200),
        ("3", "1995", 25400, 56000),
        ("2", "1995", 24000, 52900),
        ("1", "1995", 10160, 22400),
        ("L", "2005", 30480, 67200),
        ("4", "2005", 30480, 67200),
        ("3", "2005", 30480, 67200),
        ("2", "2005", 30480, 67200),
        ("1", "2005", 10160, 22400),
        ("L", "2016", 36000, 79370),
        ("4", "2016", 36000, 79370),
        ("3", "2016", 36000, 79370),
        ("2", "2016", 36000, 79370),
        ("1", "2016", 10160, 22400),
    ],
)
def test_ratings_by_edition(length_code: str, edition: str, kilograms: int, pounds: int) -> None:
    rating = find_rating(length_code, Iso668Edition(edition))
    assert rating is not None
    assert (rating.kilograms, rating.printed_lb) == (kilograms, pounds)


@pytest.mark.parametrize("length_code", ["1", "2", "3", "4", "L"])
def test_every_rating_agrees_with_its_printed_pounds(length_code: str) -> None:
    for rating in list_ratings(length_code):
        assert rating.printed_lb is None or pair_agrees(rating.kilograms, rating.printed_lb)


# Least inside dimensions in feet and inches as a public table quotes ISO 668 and ISO 1496-1:
# 39 ft 4 3/8 in, 19 ft 3 in long, 7 ft 7 3/4 in wide, 7 ft 2 1/2 in, 7 ft 8 1/2 in, 8 ft 8 1/2 in
# high.
@pytest.mark.parametrize(
    ("size_code", "length_in", "height_in"),
    [
        ("40", "472.375", "86.5"),
        ("42", "472.375", "92.5"),
        ("45", "472.375", "104.5"),
        ("20", "231", "86.5"),
        ("22", "231", "92.5"),
    ],
)
def test_least_cube_is_that_of_the_table_in_feet_and_inches(
    size_code: str, length_in: str, height_in: str
) -> None:
    cubic_inches = Decimal(length_in) * Decimal("91.75") * Decimal(height_in)
    by_pint = UNITS.Quantity(cubic_inches, "inch ** 3").to("meter ** 3").magnitude
    least = find_least_cube(size_code)
    assert least is not None
    assert abs(least - by_pint) / by_pint < Decimal("0.001")
