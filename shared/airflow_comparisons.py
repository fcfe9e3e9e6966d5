"""What other published methods say of the same louvres; beside the result, not in its place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shared import airflow
from shared.airflow_case import AirflowCase, Arrangement, Warmth
from shared.figures import Figure, get_figure
from shared.table_files import Certainty
from shared.worksheets import Line, weakest

_METRES_PER_FOOT: Final = 0.3048
_SECONDS_PER_MINUTE: Final = 60


def _figure(name: str) -> Figure:
    return get_figure("airflow_figures", name)


def list_comparisons(case: AirflowCase, free: float, sets: int, wanted: float) -> Iterator[Line]:
    """Yield a line per other method that speaks of this case; none for louvres in one side.

    Args:
        case: A case that `check_weather` has passed.
        free: Free area of one louvre, m².
        sets: Pairs of louvres fitted.
        wanted: Flow wanted, m³/s.
    """
    if case.arrangement is Arrangement.SINGLE_SIDED:
        return
    if case.wind is not None and case.wind.coefficient_difference is not None:
        for words, name in (("square on", "perpendicular"), ("at an angle", "diagonal")):
            effect = _figure(f"wind-{name}")
            flow = airflow.opening_wind_flow_m3_s(effect.value, sets * free, case.wind.speed_m_s)
            yield Line(
                f"For comparison: air changes, wind {words}",
                airflow.air_changes_per_h(flow, case.volume_m3),
                "per hour",
                f"Q = {effect.value:g} · A · U, A of one side",
                effect.source,
                effect.certainty,
            )
        yield _handbook_area(wanted, case.wind.speed_m_s, case.wind.coefficient_difference)
    if case.warmth is not None and case.warmth.height_m is not None:
        yield _second_stack(case, case.warmth, case.warmth.height_m, sets * free)


def _handbook_area(wanted: float, wind_m_s: float, difference: float) -> Line:
    """Return the line of the handbook's free area per side, worked in its own units."""
    constant, equal = _figure("handbook"), _figure("handbook-equal-openings")
    area_ft2 = equal.value * airflow.handbook_vent_area_ft2(
        constant.value,
        wanted / _METRES_PER_FOOT**3 * _SECONDS_PER_MINUTE,
        wind_m_s / _METRES_PER_FOOT * _SECONDS_PER_MINUTE,
        difference,
    )
    return Line(
        "For comparison: free area on each side",
        area_ft2 * _METRES_PER_FOOT**2,
        "m²",
        f"A = {equal.value:g} · {constant.value:g} · CFM / (W · √PD), in ft",
        constant.source,
        constant.certainty,
    )


def _second_stack(case: AirflowCase, warmth: Warmth, height_m: float, side_m2: float) -> Line:
    cd = _figure("discharge-second-method")
    inside, outside = warmth.get_kelvin()
    flow = airflow.neutral_level_stack_flow_m3_s(
        cd.value,
        side_m2,
        height_m / 2,
        abs(inside - outside),
        max(inside, outside),
        gravity=_figure("gravity").value,
    )
    return Line(
        "For comparison: air changes, warmth alone",
        airflow.air_changes_per_h(flow, case.volume_m3),
        "per hour",
        f"Q = {cd.value:g} · A · √(2 · g · H/2 · ΔT / T), A of one side",
        f"ASHRAE Fundamentals 1997 eq. 37; {cd.source}",
        weakest((Certainty.ONE_TEXT, cd.certainty)),
    )
