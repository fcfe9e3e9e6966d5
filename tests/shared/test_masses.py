"""The arithmetic of masses, without any box."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.masses import (
    Loading,
    MassesError,
    after_fitting,
    kilograms_to_pounds,
    maximum_payload,
    pair_agrees,
    pounds_to_kilograms,
    sum_difference,
    write_kilograms,
    write_newtons,
    write_pounds,
)


def test_maximum_payload_is_gross_less_tare() -> None:
    assert maximum_payload(30480, 2250) == 28230
    assert maximum_payload(2250, 2250) == 0


@pytest.mark.parametrize("tare", [30481, -1])
def test_maximum_payload_of_an_impossible_tare_carries_both_values(tare: int) -> None:
    with pytest.raises(MassesError) as caught:
        maximum_payload(30480, tare)
    assert (caught.value.gross_kg, caught.value.tare_kg) == (30480, tare)
    assert "30 480 kg" in str(caught.value)


@given(st.integers(0, 99_999), st.integers(0, 99_999))
@settings(derandomize=True, max_examples=100)
def test_sum_of_tare_and_its_payload_is_the_gross(tare: int, load: int) -> None:
    gross = tare + load
    payload = maximum_payload(gross, tare)
    assert sum_difference(gross, tare, payload) == 0
    assert sum_difference(gross, tare, payload + 1) == 1
    assert sum_difference(gross, tare, payload - 1) == -1


def test_fitting_raises_tare_and_lowers_payload_by_the_same() -> None:
    assert after_fitting(30480, 2250, 34) == Loading(30480, 2284, 28196)


def test_cut_out_steel_lowers_tare() -> None:
    assert after_fitting(30480, 2250, -12) == Loading(30480, 2238, 28242)


@pytest.mark.parametrize("added", [28231, -2251])
def test_fitting_that_leaves_no_payload_or_no_box_is_an_error(added: int) -> None:
    with pytest.raises(MassesError):
        after_fitting(30480, 2250, added)


def test_pounds_and_kilograms_convert_by_the_exact_pound() -> None:
    assert pounds_to_kilograms(100_000_000) == Decimal(45_359_237)
    assert kilograms_to_pounds(45_359_237) == Decimal(100_000_000)


@given(st.integers(0, 60_000))
@settings(derandomize=True, max_examples=100)
def test_a_rounded_conversion_always_agrees(kilograms: int) -> None:
    assert pair_agrees(kilograms, round(kilograms_to_pounds(kilograms)))


@pytest.mark.parametrize(
    ("kilograms", "pounds", "agrees"),
    [
        # 2 000 kg is 4 409.245 lb: 25 lb on either side, more than its 0.1 %.
        (2000, 4385, True),
        (2000, 4384, False),
        (2000, 4434, True),
        (2000, 4435, False),
        # 192 000 kg is 423 287.5 lb: 0.1 %, 423.3 lb, is the wider.
        (192_000, 423_710, True),
        (192_000, 423_711, False),
        (192_000, 422_865, True),
        (192_000, 422_864, False),
        # Exactly 100 000 000 lb, so that the thousandth is a whole number of pounds.
        (45_359_237, 100_100_000, True),
        (45_359_237, 100_100_001, False),
        (45_359_237, 99_900_000, True),
        (45_359_237, 99_899_999, False),
        (0, 25, True),
        (0, 26, False),
    ],
)
def test_pair_agrees_within_25_lb_or_a_thousandth(
    kilograms: int, pounds: int, agrees: bool
) -> None:
    assert pair_agrees(kilograms, pounds) is agrees


def test_masses_and_forces_are_written_with_unit_and_groups() -> None:
    assert write_kilograms(30480) == "30 480 kg"
    assert write_kilograms(950) == "950 kg"
    assert write_pounds(1_234_567) == "1 234 567 lb"
    assert write_newtons(150_000) == "150 000 N"
