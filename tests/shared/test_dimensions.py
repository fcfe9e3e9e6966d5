"""ISO 668 dimensions: lookups, and that external, internal and door figures agree."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shared.dimensions import (
    DesignationError,
    DimensionBound,
    Quantity,
    designations,
    dimensions_of,
    find_designation,
    minimum_capacity_m3,
)
from shared.size_types import decode_size_type
from shared.table_files import Certainty

OUTSIDE = (Quantity.LENGTH, Quantity.WIDTH, Quantity.HEIGHT)
INSIDE = (Quantity.INTERNAL_LENGTH, Quantity.INTERNAL_WIDTH, Quantity.INTERNAL_HEIGHT)


def test_designations_are_the_sixteen_of_series_1() -> None:
    assert len(designations()) == 16
    assert designations()[0] == "1EEE"


@pytest.mark.parametrize("designation", designations())
def test_dimensions_every_designation_has_its_outside(designation: str) -> None:
    known = dimensions_of(designation)
    assert all(quantity in known for quantity in OUTSIDE)
    assert known[Quantity.WIDTH].mm == 2438
    assert known[Quantity.LENGTH_MINUS].bound is DimensionBound.TOLERANCE


@pytest.mark.parametrize("designation", [d for d in designations() if not d.endswith("X")])
def test_dimensions_inside_is_smaller_and_241_mm_lower(designation: str) -> None:
    known = dimensions_of(designation)
    assert all(known[i].mm < known[o].mm for o, i in zip(OUTSIDE, INSIDE, strict=True))
    assert known[Quantity.HEIGHT].mm - known[Quantity.INTERNAL_HEIGHT].mm == 241
    assert known[Quantity.DOOR_HEIGHT].mm < known[Quantity.INTERNAL_HEIGHT].mm
    assert known[Quantity.DOOR_WIDTH].mm < known[Quantity.INTERNAL_WIDTH].mm
    assert minimum_capacity_m3(designation) is not None


@pytest.mark.parametrize("designation", ["1AX", "1BX", "1CX", "1DX"])
def test_dimensions_low_boxes_have_no_inside_laid_down(designation: str) -> None:
    known = dimensions_of(designation)
    assert known[Quantity.HEIGHT].bound is DimensionBound.UNDER
    assert Quantity.INTERNAL_HEIGHT not in known
    assert minimum_capacity_m3(designation) is None


def test_dimensions_say_how_sure_each_figure_is() -> None:
    known = dimensions_of("1AAA")
    assert known[Quantity.INTERNAL_LENGTH].certainty is Certainty.READ
    assert known[Quantity.LENGTH_MINUS].certainty is Certainty.MEMORY
    assert dimensions_of("1EEE")[Quantity.INTERNAL_LENGTH].certainty is Certainty.MEMORY


def test_dimensions_of_a_box_outside_the_series_names_the_designations() -> None:
    with pytest.raises(DesignationError, match="1CC") as caught:
        dimensions_of("1DD")
    assert caught.value.designation == "1DD"


@pytest.mark.parametrize(
    ("code", "designation"),
    [
        ("22G1", "1CC"),
        ("20G1", "1C"),
        ("25G1", "1CCC"),
        ("28G1", "1CX"),
        ("29P0", "1CX"),
        ("42G1", "1AA"),
        ("45G1", "1AAA"),
        ("L5G1", "1EEE"),
        ("32G1", "1BB"),
        ("10G1", "1D"),
        ("12G1", None),
        ("24G1", None),
        ("26G1", None),
        ("2CG1", None),
        ("A2G1", None),
        ("L9P0", None),
    ],
)
def test_find_designation_follows_length_height_and_width(
    code: str, designation: str | None
) -> None:
    assert find_designation(decode_size_type(code)) == designation


def test_minimum_capacity_rounds_down_to_whole_litres() -> None:
    assert minimum_capacity_m3("1CC") == Decimal("32.124")
    assert 5867 * 2330 * 2350 == 32_124_758_500
