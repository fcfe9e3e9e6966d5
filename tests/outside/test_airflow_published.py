"""Airflow formulas against worked values, and their units against pint.

No published worked example with its text was found, so the values were worked by hand from the
published formulas: derived. How certain each formula is stands beside its check.
"""

import pint
import pytest

from shared import airflow
from shared.figures import get_figure

UREG: pint.UnitRegistry[float] = pint.UnitRegistry()
Q = UREG.Quantity

# One low and one high louvre of 0.05 m² free area, 2.0 m apart, 30 °C inside, 20 °C outside.
AREA = airflow.series_area_m2(0.05, 0.05)


def stack_flow() -> float:
    return airflow.cross_stack_flow_m3_s(0.61, AREA, 2.0, 10.0, 298.15, gravity=9.81)


def test_two_equal_openings_in_series() -> None:
    # MIL-HDBK-1011/2 Appendix C: equal inlet and outlet are 1.41 A each; one text.
    assert pytest.approx(0.035355, abs=5e-7) == AREA
    assert pytest.approx(1.41, abs=0.005) == 0.05 / AREA


def test_cross_ventilation_by_stack() -> None:
    # BS 5925 clause 12: from memory. 0.02474 m³/s = 89.1 m³/h = 2.68 changes in 33.2 m³: derived.
    flow = stack_flow()
    assert flow == pytest.approx(0.02474, abs=5e-6)
    assert flow * airflow.SECONDS_PER_HOUR == pytest.approx(89.1, abs=0.05)
    assert airflow.air_changes_per_h(flow, 33.2) == pytest.approx(2.68, abs=0.005)


def test_cross_ventilation_by_wind() -> None:
    # BS 5925 clause 12: from memory. Wind 3 m/s, ΔCp 0.9 gives 0.06138 m³/s = 221 m³/h: derived.
    flow = airflow.cross_wind_flow_m3_s(0.61, AREA, 3.0, 0.9)
    assert flow == pytest.approx(0.06138, abs=5e-6)
    assert flow * airflow.SECONDS_PER_HOUR == pytest.approx(221, abs=0.5)


def test_stack_from_the_neutral_level() -> None:
    # ASHRAE Fundamentals 1997 eq. 37: one text. 0.02615 m³/s: derived.
    flow = airflow.neutral_level_stack_flow_m3_s(0.65, 0.05, 1.0, 10.0, 303.15, gravity=9.81)
    assert flow == pytest.approx(0.02615, abs=5e-6)


def test_orifice() -> None:
    # BS 5925:1991 clause 9 eq. (2) as corrected in 1995: one text. 0.1245 m³/s: derived.
    assert airflow.orifice_flow_m3_s(0.61, 0.05, 10.0, 1.2) == pytest.approx(0.1245, abs=5e-5)


def test_handbook_area_in_customary_units() -> None:
    # MIL-HDBK-1011/2 Appendix C step 14: one text. 3.12 ft², equal openings 4.40 ft²: derived.
    constant = get_figure("airflow_figures", "handbook").value
    equal = get_figure("airflow_figures", "handbook-equal-openings").value
    area = airflow.handbook_vent_area_ft2(constant, 1000, 500, 1)
    assert area == pytest.approx(3.12, abs=0.005)
    assert equal * area == pytest.approx(4.40, abs=0.005)


def test_discharge_implied_by_the_handbook_is_near_that_of_a_sharp_edge() -> None:
    # 1/1.56 = 0.641: derived; 0.61, BS 5925: from memory. They differ by about five parts in 100.
    implied = 1 / get_figure("airflow_figures", "handbook").value
    assert implied == pytest.approx(0.641, abs=5e-4)
    assert implied / get_figure("airflow_figures", "discharge").value == pytest.approx(
        1.05, abs=0.01
    )


def test_single_opening_passed_both_ways() -> None:
    # ASHRAE Fundamentals 1997 eq. 38: one text. 0.40 + 0.0045 · 10 K = 0.445: derived.
    base, slope = (
        get_figure("airflow_figures", f"two-way-{name}").value for name in ("base", "slope")
    )
    assert airflow.two_way_discharge(base, slope, 10) == pytest.approx(0.445)
    assert airflow.two_way_discharge(base, slope, -10) == pytest.approx(0.445)


def test_single_sided_wind() -> None:
    # Q = 0.025 · A · U, BS 5925: from memory. 0.025 · 0.05 m² · 3 m/s = 0.00375 m³/s: derived.
    single = get_figure("airflow_figures", "single-sided").value
    assert airflow.single_sided_wind_flow_m3_s(single, 0.05, 3) == pytest.approx(0.00375)


def test_wind_through_an_inlet() -> None:
    # Q = Cv · A · U, a textbook quoting ASHRAE, Cv 0.5 to 0.6: one text. 0.075 m³/s: derived.
    square_on = get_figure("airflow_figures", "wind-perpendicular").value
    assert airflow.opening_wind_flow_m3_s(square_on, 0.05, 3) == pytest.approx(0.075)


def test_orifice_agrees_with_pint_in_its_units() -> None:
    flow = 0.61 * Q(0.05, "m^2") * (2 * Q(10, "Pa") / Q(1.2, "kg/m^3")) ** 0.5
    assert airflow.orifice_flow_m3_s(0.61, 0.05, 10, 1.2) == pytest.approx(
        flow.to("m^3/s").magnitude
    )


def test_stack_agrees_with_pint_in_its_units() -> None:
    difference = Q(30, "degC").to("kelvin") - Q(20, "degC").to("kelvin")
    mean = (Q(30, "degC").to("kelvin") + Q(20, "degC").to("kelvin")) / 2
    speed = (2 * difference * Q(9.81, "m/s^2") * Q(2, "m") / mean) ** 0.5
    flow = 0.61 * Q(AREA, "m^2") * speed
    assert stack_flow() == pytest.approx(flow.to("m^3/s").magnitude)


def test_handbook_area_agrees_with_pint_in_its_units() -> None:
    flow, wind = Q(1000, "ft^3/min").to("m^3/s"), Q(500, "ft/min").to("m/s")
    area = (1.56 * flow / (wind * 0.8**0.5)).to("ft^2")
    assert airflow.handbook_vent_area_ft2(1.56, 1000, 500, 0.8) == pytest.approx(area.magnitude)


def test_air_changes_agree_with_pint_in_their_units() -> None:
    changes = (Q(0.02474, "m^3/s") / Q(33.2, "m^3")).to("1/hour")
    assert airflow.air_changes_per_h(0.02474, 33.2) == pytest.approx(changes.magnitude)
