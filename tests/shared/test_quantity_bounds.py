"""Where each calculation of siting and airflow stops believing its numbers."""

from collections.abc import Callable

import pytest

from shared import airflow, handling, siting
from shared.airflow_case import AirflowCase, Louvre, Warmth, Wind
from shared.airflow_sheet import work_out_airflow
from shared.handling import LiftMethod, Load
from shared.quantities import QuantityError

SLING = handling.judge_lift(LiftMethod.BOTTOM_SLING, 20, Load.EMPTY)


def work_out(
    wind: float = 3, difference: float = 0.9, inside: float = 30, height: float = 2, vents: int = 0
) -> object:
    return work_out_airflow(
        AirflowCase(
            volume_m3=33,
            changes_per_h=2,
            louvre=Louvre(500, 250, 0.4),
            wind=Wind(wind, difference),
            warmth=Warmth(inside, 20, height),
            small_vents=vents,
        )
    )


def stack(height: float, difference: float) -> float:
    return airflow.cross_stack_flow_m3_s(0.6, 0.05, height, difference, 298, gravity=9.81)


def neutral(height: float, difference: float) -> float:
    return airflow.neutral_level_stack_flow_m3_s(0.6, 0.05, height, difference, 298, gravity=9.81)


# What is asked, the least and the greatest number believed, and a step beyond them.
BOUNDS: list[tuple[Callable[[float], object], float, float, float]] = [
    (lambda x: siting.corner_load_kn((20_000,), unevenness=x), 1, 4, 0.01),
    (lambda x: siting.pressure_kpa(50, x, 300), 1, 10_000, 0.1),
    (lambda x: siting.least_pad_side_mm(50, x), 1, 10_000, 0.1),
    (lambda x: siting.packing_mm((0, 0, x, 0)), -1000, 1000, 1),
    (lambda x: handling.is_sling_steep_enough(SLING, x), 0, 90, 0.1),
    (lambda x: handling.judge_lift(LiftMethod.FORKS, int(x), Load.EMPTY), 1, 60, 1),
    (lambda x: airflow.louvre_free_area_m2(x, 250, 0.4), 10, 3000, 0.1),
    (lambda x: airflow.louvre_free_area_m2(500, 250, x), 0.05, 1, 0.001),
    (lambda x: airflow.series_area_m2(0.05, x), 1e-6, 100, 1e-7),
    (lambda x: airflow.orifice_flow_m3_s(0.6, 0.05, x, 1.2), 0, 10_000, 0.1),
    (lambda x: airflow.orifice_flow_m3_s(0.6, 0.05, 10, x), 0.5, 2, 0.01),
    (lambda x: airflow.cross_wind_flow_m3_s(0.6, 0.05, x, 0.9), 0, 60, 0.1),
    (lambda x: airflow.cross_wind_flow_m3_s(0.6, 0.05, 3, x), 0, 3, 0.01),
    (lambda x: stack(x, 10), 0, 20, 0.1),
    (lambda x: stack(2, x), 0, 120, 0.1),
    (lambda x: neutral(x, 10), 0, 20, 0.1),
    (lambda x: neutral(2, x), 0, 120, 0.1),
    (lambda x: airflow.opening_wind_flow_m3_s(0.5, 0.05, x), 0, 60, 0.1),
    (lambda x: airflow.single_sided_wind_flow_m3_s(0.025, 0.05, x), 0, 60, 0.1),
    (lambda x: airflow.handbook_vent_area_ft2(1.56, 1000, x, 1), 1, 12_000, 0.1),
    (lambda x: airflow.handbook_vent_area_ft2(1.56, 1000, 500, x), 0.001, 3, 0.0001),
    (lambda x: airflow.air_changes_per_h(0.01, x), 0.1, 1000, 0.01),
    (lambda x: airflow.flow_for_air_changes_m3_s(x, 33), 0.01, 200, 0.001),
    (lambda x: airflow.flow_for_air_changes_m3_s(2, x), 0.1, 1000, 0.01),
    (lambda x: work_out(wind=x), 0.05, 60, 0.01),
    (lambda x: work_out(difference=x), 0.01, 3, 0.001),
    (lambda x: work_out(inside=x), -60, 90, 0.1),
    (lambda x: work_out(height=x), 0.05, 20, 0.01),
    (lambda x: work_out(vents=int(x)), 0, 200, 1),
]


@pytest.mark.parametrize(("ask", "least", "greatest", "step"), BOUNDS)
def test_number_at_its_bounds_is_believed_and_beyond_them_refused(
    ask: Callable[[float], object], least: float, greatest: float, step: float
) -> None:
    assert ask(least) is not None
    assert ask(greatest) is not None
    with pytest.raises(QuantityError):
        ask(least - step)
    with pytest.raises(QuantityError):
        ask(greatest + step)
