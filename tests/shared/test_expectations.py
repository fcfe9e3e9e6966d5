import pytest

from shared import expectations
from shared.expectations import ExpectationUnknownError, Occurrence
from shared.table_files import Certainty


def test_every_expectation_is_practice_and_a_sentence_of_its_own() -> None:
    found = expectations.list_expectations()
    assert len({each.id for each in found}) == len(found) >= 25
    for each in found:
        assert each.certainty is Certainty.PRACTICE
        assert "no source" in each.source
        assert each.words[0].isupper() or each.words[0].isdigit()
        assert each.words.endswith(".")


@pytest.mark.parametrize(
    ("expectation_id", "fitting", "not_fitting"),
    [
        ("mark-characters", [11], [10, 12]),
        ("fork-pockets-short", [2], [0, 1, 4]),
        ("fork-pockets-40", [0], [2]),
        ("small-vents", [2, 4], [0, 3, 16]),
        ("small-vents-many", [16, 20], [15]),
        ("small-vent-size", [25.4, 20, 30], [19, 31]),
        ("locking-bars", [4], [2, 3]),
        ("door-handles", [4], [3]),
        ("right-door-bars-variant", [1], [2]),
        ("floor-height", [101.6, 127], [99, 131]),
        ("floor-thickness", [25.4, 28], [23, 31]),
        ("lashing-points-rail", [5], [4]),
        ("lashing-points-post", [3], [2]),
        ("one-trip-lock-box", [1], [0]),
        ("one-trip-dents", [0], [1]),
    ],
)
def test_numbers_seen_are_told_from_numbers_expected(
    expectation_id: str, fitting: list[float], not_fitting: list[float]
) -> None:
    expected = expectations.get_expectation(expectation_id)
    assert all(expected.fits(value) is True for value in fitting)
    assert all(expected.fits(value) is False for value in not_fitting)


def test_expectation_without_numbers_says_nothing_of_a_number() -> None:
    assert expectations.get_expectation("door-order").fits(1) is None


def test_expectations_of_a_length_leave_the_other_lengths_out() -> None:
    ids = [each.id for each in expectations.list_expectations("fork-pockets", length_ft=40)]
    assert ids == ["fork-pockets-40"]
    ids = [each.id for each in expectations.list_expectations("fork-pockets", length_ft=10)]
    assert ids == ["fork-pockets-short"]
    assert expectations.list_expectations("fork-pockets", length_ft=45) == ()
    assert len(expectations.list_expectations("fork-pockets")) == 2


def test_expectations_of_a_provenance_leave_the_other_out_but_keep_the_general() -> None:
    used = {each.id for each in expectations.list_expectations(provenance="used")}
    assert "used-lock-box" in used
    assert "one-trip-age" not in used
    assert "locking-bars" in used
    one_trip = {each.id for each in expectations.list_expectations(provenance="one-trip")}
    assert "one-trip-age" in one_trip
    assert "used-lock-box" not in one_trip


def test_what_is_seen_finds_its_usual_or_variant_expectation_or_none() -> None:
    usual = expectations.find_fitting("small-vents", 4)
    many = expectations.find_fitting("small-vents", 18)
    assert usual is not None
    assert usual.occurrence is Occurrence.USUAL
    assert many is not None
    assert many.occurrence is Occurrence.VARIANT
    assert expectations.find_fitting("small-vents", 9) is None
    assert expectations.find_fitting("fork-pockets", 2, length_ft=40) is None
    fitted = expectations.find_fitting("lock-box", 1, provenance="used")
    assert fitted is not None
    assert fitted.id == "used-lock-box-fitted"
    assert expectations.find_fitting("no-such-part", 1) is None


def test_unknown_expectation_is_named() -> None:
    with pytest.raises(ExpectationUnknownError, match="roof-rack"):
        expectations.get_expectation("roof-rack")


def test_standing_and_opening_order_are_told_in_words() -> None:
    assert "raised off the ground" in expectations.get_expectation("standing").words
    assert "right door opens first" in expectations.get_expectation("door-order").words
    assert "inner bar" in expectations.get_expectation("door-order").words
    assert "top right" in expectations.get_expectation("mark-on-panels").words
