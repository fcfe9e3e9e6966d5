import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import airflow, cautions
from shared.airflow_case import (
    AirflowCase,
    AirflowIncompleteError,
    Arrangement,
    Louvre,
    StillAirError,
    Warmth,
    Wind,
)
from shared.airflow_sheet import work_out_airflow
from shared.quantities import QuantityError
from shared.table_files import Certainty, load_table

LOUVRE = Louvre(500, 250, 0.4)
"""Free area 0.05 m²."""


def make_case(**changes: Any) -> AirflowCase:  # noqa: ANN401 - any field of the case
    usual = {"volume_m3": 33.2, "changes_per_h": 2.6, "louvre": LOUVRE}
    return AirflowCase(**{**usual, "warmth": Warmth(30, 20, 2.0), **changes})


def test_free_area_is_the_open_share_of_the_face() -> None:
    assert airflow.louvre_free_area_m2(500, 250, 0.4) == pytest.approx(0.05)


@pytest.mark.parametrize(
    "louvre", [(9, 250, 0.4), (500, 3001, 0.4), (500, 250, 0), (500, 250, 1.1)]
)
def test_louvre_that_cannot_be_is_refused(louvre: tuple[float, float, float]) -> None:
    with pytest.raises(QuantityError):
        airflow.louvre_free_area_m2(*louvre)


@settings(derandomize=True, max_examples=60)
@given(first=st.floats(0.001, 10), second=st.floats(0.001, 10))
def test_openings_in_series_pass_less_than_the_smaller(first: float, second: float) -> None:
    both = airflow.series_area_m2(first, second)
    assert 0 < both < min(first, second)
    assert both == pytest.approx(airflow.series_area_m2(second, first))
    # Pressure drops add up: (Q/A)² over both is the sum of (Q/A₁)² and (Q/A₂)².
    assert both**-2 == pytest.approx(first**-2 + second**-2)


def test_closed_opening_in_series_is_refused() -> None:
    with pytest.raises(QuantityError):
        airflow.series_area_m2(0.05, 0)


@settings(derandomize=True, max_examples=30)
@given(factor=st.floats(1, 4))
def test_flow_grows_with_wind_and_with_the_root_of_pressure_and_warmth(factor: float) -> None:
    def wind(speed: float, difference: float) -> float:
        return airflow.cross_wind_flow_m3_s(0.61, 0.05, speed, difference)

    def stack(difference: float, height: float) -> float:
        return airflow.cross_stack_flow_m3_s(0.61, 0.05, height, difference, 298, gravity=9.81)

    root = math.sqrt(factor)
    assert wind(3 * factor, 0.5) == pytest.approx(factor * wind(3, 0.5))
    assert wind(3, 0.5 * factor) == pytest.approx(root * wind(3, 0.5))
    assert stack(10 * factor, 2) == pytest.approx(root * stack(10, 2))
    assert stack(10, 2 * factor) == pytest.approx(root * stack(10, 2))


def test_joint_flow_is_the_larger_and_not_the_sum() -> None:
    assert airflow.joint_flow_m3_s(0.02, 0.03) == 0.03
    assert airflow.joint_flow_m3_s(0.04, 0.03) == 0.04


def test_air_changes_and_flow_undo_each_other() -> None:
    assert airflow.air_changes_per_h(0.01, 36) == pytest.approx(1)
    assert airflow.flow_for_air_changes_m3_s(1, 36) == pytest.approx(0.01)
    with pytest.raises(QuantityError):
        airflow.air_changes_per_h(0.01, 0)


@settings(derandomize=True, max_examples=80)
@given(
    changes=st.floats(0.1, 60),
    arrangement=st.sampled_from(Arrangement),
    speed=st.floats(0.3, 15),
    inside=st.floats(-10, 60),
)
def test_louvres_needed_suffice_and_one_set_fewer_does_not(
    changes: float, arrangement: Arrangement, speed: float, inside: float
) -> None:
    case = make_case(
        changes_per_h=changes,
        arrangement=arrangement,
        wind=Wind(speed, 0.6),
        warmth=Warmth(inside, 15, 1.8),
    )
    sheet = work_out_airflow(case)
    step = 2 if arrangement is Arrangement.CROSS else 1
    needed = sheet.get_line("Louvres needed").value
    got = sheet.get_line("Air changes with them").value
    assert needed % step == 0
    assert got >= changes * (1 - 1e-8)
    assert got * (needed - step) / needed < changes


def test_stack_sheet_gives_one_pair_for_what_one_pair_passes() -> None:
    sheet = work_out_airflow(make_case())
    assert sheet.get_line("Effective area of one low and one high louvre").value == pytest.approx(
        0.035355, abs=1e-6
    )
    assert sheet.get_line("Louvres needed").value == 2
    assert sheet.get_line("Low louvres on one side").value == 1
    assert sheet.get_line("High louvres on the other side").value == 1
    assert sheet.get_line("Air changes with them").value == pytest.approx(2.68, abs=0.005)
    assert sheet.get_line("Flow with them, by the hour").value == pytest.approx(89.1, abs=0.05)
    assert work_out_airflow(make_case(changes_per_h=2.7)).get_line("Louvres needed").value == 4


def test_wind_and_warmth_together_count_as_the_larger() -> None:
    both = work_out_airflow(make_case(wind=Wind(3, 0.9)))
    wind = both.get_line("Wind flow of one pair").value
    assert wind > both.get_line("Stack flow of one pair").value
    assert both.get_line("Flow with them").value == pytest.approx(wind)


def test_warmth_outside_moves_as_much_air_as_warmth_inside() -> None:
    warm = work_out_airflow(make_case(warmth=Warmth(30, 20, 2)))
    cool = work_out_airflow(make_case(warmth=Warmth(20, 30, 2)))
    assert warm.lines == cool.lines


def test_single_sided_louvres_by_wind_and_by_warmth() -> None:
    case = make_case(
        arrangement=Arrangement.SINGLE_SIDED, wind=Wind(4), warmth=Warmth(30, 20), changes_per_h=1
    )
    sheet = work_out_airflow(case)
    assert sheet.get_line("Wind flow of one louvre").value == pytest.approx(0.025 * 0.05 * 4)
    # Lower half of the opening as inlet, neutral level in its middle.
    expected = (0.40 + 0.045) * 0.025 * math.sqrt(2 * 9.81 * 0.125 * 10 / 303.15)
    assert sheet.get_line("Stack flow of one louvre").value == pytest.approx(expected)
    assert sheet.get_line("Louvres needed").value == math.ceil(33.2 / 3600 / 0.005)
    assert not any(line.name.startswith("For comparison") for line in sheet.lines)


@pytest.mark.parametrize("count", [0, 2, 16])
def test_small_vents_are_shown_and_never_counted(count: int) -> None:
    sheet = work_out_airflow(make_case(small_vents=count))
    assert sheet.get_line("Free area counted for small vents").value == 0
    assert any(given.name == "Small vents" and given.value == count for given in sheet.inputs)
    assert sheet.lines == work_out_airflow(make_case()).lines


def test_other_methods_stand_beside_the_result() -> None:
    sheet = work_out_airflow(make_case(wind=Wind(3, 0.9), changes_per_h=6))
    square_on = sheet.get_line("For comparison: air changes, wind square on").value
    at_an_angle = sheet.get_line("For comparison: air changes, wind at an angle").value
    assert square_on == pytest.approx(0.5 * 0.05 * 3 * 3600 / 33.2)
    assert at_an_angle == pytest.approx(square_on / 2)
    # In SI: A = 1.41 · 1.56 · Q / (U · √PD), since both sides carry the same units of length.
    wanted = 6 * 33.2 / 3600
    side = sheet.get_line("For comparison: free area on each side").value
    assert side == pytest.approx(1.41 * 1.56 * wanted / (3 * math.sqrt(0.9)))
    # 0.02615 m³/s, the published form with the neutral level half-way.
    warm = sheet.get_line("For comparison: air changes, warmth alone").value
    assert warm == pytest.approx(0.02615 * 3600 / 33.2, abs=0.005)


@pytest.mark.parametrize("warmth", [None, Warmth(20, 20, 2)])
def test_still_air_is_refused(warmth: Warmth | None) -> None:
    with pytest.raises(StillAirError):
        work_out_airflow(make_case(warmth=warmth))


def test_cross_ventilation_without_height_or_coefficients_is_refused() -> None:
    with pytest.raises(AirflowIncompleteError, match="height"):
        work_out_airflow(make_case(warmth=Warmth(30, 20)))
    with pytest.raises(AirflowIncompleteError, match="coefficients"):
        work_out_airflow(make_case(wind=Wind(3)))


@pytest.mark.parametrize(
    "changes",
    [
        {"volume_m3": 0},
        {"volume_m3": float("nan")},
        {"changes_per_h": 0},
        {"changes_per_h": 201},
        {"wind": Wind(0, 0.9)},
        {"wind": Wind(61, 0.9)},
        {"wind": Wind(3, 0)},
        {"warmth": Warmth(91, 20, 2)},
        {"warmth": Warmth(20, -61, 2)},
        {"warmth": Warmth(30, 20, 0)},
        {"small_vents": -1},
    ],
)
def test_numbers_that_cannot_be_are_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(QuantityError):
        work_out_airflow(make_case(**changes))


def test_result_is_no_surer_than_common_practice_and_carries_both_cautions() -> None:
    sheet = work_out_airflow(make_case())
    assert sheet.get_line("Louvres needed").certainty is Certainty.PRACTICE
    assert sheet.get_line("Stack flow of one pair").certainty is Certainty.MEMORY
    assert sheet.cautions == (cautions.AIRFLOW, cautions.CUTTING)


def test_every_figure_of_airflow_names_its_source() -> None:
    assert all(row.source for row in load_table("airflow_figures"))


def test_assumptions_follow_what_moves_the_air() -> None:
    def words(case: AirflowCase) -> str:
        return " ".join(work_out_airflow(case).assumptions)

    warm, both = make_case(), make_case(wind=Wind(3, 0.9))
    one_side = make_case(arrangement=Arrangement.SINGLE_SIDED)
    assert "not added" in words(both)
    assert "not added" not in words(warm)
    assert "between other units" in words(both)
    assert "between other units" not in words(warm)
    assert "opposite side" in words(warm)
    assert "opposite side" not in words(one_side)
    assert "Small vents are not counted" in words(one_side)


def test_inputs_repeat_what_was_given_and_leave_out_what_was_not() -> None:
    full = work_out_airflow(make_case(wind=Wind(3, 0.9), small_vents=2))
    assert [(given.value, given.unit) for given in full.inputs] == [
        (33.2, "m³"),
        (2.6, "per hour"),
        (500, "mm"),
        (250, "mm"),
        (0.4, ""),
        ("cross", ""),
        (3, "m/s"),
        (0.9, ""),
        (30, "°C"),
        (20, "°C"),
        (2.0, "m"),
        (2, ""),
    ]
    bare = make_case(arrangement=Arrangement.SINGLE_SIDED, wind=Wind(3), warmth=None)
    names = [given.name for given in work_out_airflow(bare).inputs]
    assert names[5:] == ["Arrangement", "Wind", "Small vents"]
