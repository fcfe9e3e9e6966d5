"""What a size-type lets expect of masses and cube."""

from decimal import Decimal

import pytest

from shared.mass_plausibility import (
    RATINGS,
    Iso668Edition,
    MassExpectation,
    expect_masses,
    find_least_cube,
    find_rating,
    find_typical_box,
    list_ratings,
)
from shared.table_files import Certainty


@pytest.mark.parametrize("edition", Iso668Edition)
def test_every_edition_has_a_rating(edition: Iso668Edition) -> None:
    assert [rating for rating in RATINGS if rating.edition is edition]


def test_ratings_of_a_length_come_in_the_order_of_editions() -> None:
    assert [rating.kilograms for rating in list_ratings("2")] == [
        20320, 24000, 30480, 36000, 32500
    ]  # fmt: skip
    assert list_ratings("A") == ()


def test_rating_of_45_ft_is_absent_before_it_entered_the_standard() -> None:
    assert find_rating("L", Iso668Edition.OF_1995) is None
    rating = find_rating("L", Iso668Edition.OF_2005)
    assert rating is not None
    assert (rating.kilograms, rating.printed_lb) == (30480, 67200)


def test_rating_from_memory_says_so() -> None:
    newest = find_rating("4", Iso668Edition.OF_2016)
    assert newest is not None
    assert newest.certainty is Certainty.MEMORY
    older = find_rating("4", Iso668Edition.OF_1995)
    assert older is not None
    assert older.certainty is Certainty.READ


def test_least_cube_is_the_product_of_the_least_dimensions() -> None:
    assert find_least_cube("22") == Decimal("5.867") * Decimal("2.330") * Decimal("2.350")
    assert find_least_cube("12") is None


def test_typical_box_of_a_size() -> None:
    box = find_typical_box("45")
    assert box is not None
    assert (box.name, box.tare_low_kg, box.tare_high_kg) == ("40 ft high cube", 3900, 4120)
    assert (box.cube_low_m3, box.cube_high_m3) == (Decimal("76.0"), Decimal("76.3"))
    assert find_typical_box("25") is None


def test_dry_box_has_every_expectation() -> None:
    assert expect_masses("22G1") == MassExpectation(
        lowest_rating_kg=20320,
        highest_rating_kg=36000,
        in_use_kg=32500,
        tare_low_kg=1853,
        tare_high_kg=2702,
        cube_low_m3=Decimal("29.7"),
        cube_high_m3=Decimal("36.52"),
        least_cube_m3=find_least_cube("22"),
    )


@pytest.mark.parametrize("same", ["22g1", " 22G1", "22G0", "22GP", "22GB", "22V0", "2210", "2200"])
def test_closed_boxes_of_one_size_share_an_expectation(same: str) -> None:
    assert expect_masses(same) == expect_masses("22G1")


def test_old_code_over_8_ft_6_counts_as_high_cube() -> None:
    assert expect_masses("4510") == expect_masses("45G1")


@pytest.mark.parametrize("other", ["22G2", "22GD", "22R1", "22U1", "22T3", "2260", "22TD"])
def test_boxes_of_other_types_have_a_rating_and_no_typical_values(other: str) -> None:
    expected = expect_masses(other)
    assert expected.highest_rating_kg == 36000
    assert expected.tare_low_kg is None
    assert expected.cube_low_m3 is None
    assert expected.least_cube_m3 is None


def test_old_code_without_a_code_of_today_has_a_rating_by_its_length() -> None:
    expected = expect_masses("2600")
    assert (expected.lowest_rating_kg, expected.highest_rating_kg) == (20320, 36000)
    assert expected.tare_low_kg is None


def test_iso_size_without_a_typical_box_has_a_least_cube() -> None:
    expected = expect_masses("32G1")
    assert expected.tare_low_kg is None
    assert expected.least_cube_m3 == find_least_cube("32")
    assert expected.highest_rating_kg == 36000


@pytest.mark.parametrize("code", ["", "2", "ZZZZ", "22?1", "51G1"])
def test_code_that_says_nothing_expects_nothing(code: str) -> None:
    assert expect_masses(code) == MassExpectation()
