"""The worked sheet for louvres: how many give a wanted number of air changes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from shared import airflow, cautions
from shared.airflow_case import AirflowCase, Arrangement, Warmth, check_weather
from shared.airflow_comparisons import list_comparisons
from shared.figures import Figure, get_figure
from shared.quantities import require_between
from shared.table_files import Certainty
from shared.worksheets import Given, Line, Worksheet, weakest

# Lets a number of louvres that comes out whole stay whole through rounding in the last place.
_ROUNDING: Final = 1e-9


def _figure(name: str) -> Figure:
    return get_figure("airflow_figures", name)


def work_out_airflow(case: AirflowCase) -> Worksheet:
    """Return the sheet: free areas, flows of one set of louvres, the number needed, what they give.

    Raises:
        QuantityError: a number cannot be what it is said to be.
        StillAirError: nothing moves the air.
        AirflowIncompleteError: cross ventilation lacks the height or the pressure coefficients.
    """
    free = airflow.louvre_free_area_m2(
        case.louvre.face_width_mm, case.louvre.face_height_mm, case.louvre.free_ratio
    )
    wanted = airflow.flow_for_air_changes_m3_s(case.changes_per_h, case.volume_m3)
    require_between("The number of small vents", case.small_vents, "", 0, 200)
    check_weather(case)
    drives = (*_list_wind_flows(case, free), *_list_warmth_flows(case, free))
    flow = max(line.value for line in drives)
    sets = math.ceil(wanted / flow - _ROUNDING)
    lines = (
        *_list_wanted(case, free, wanted),
        *drives,
        *_list_result(case, drives, sets, wanted),
        *list_comparisons(case, free, sets, wanted),
    )
    return Worksheet(
        title="Louvres for a wanted number of air changes",
        inputs=tuple(_list_inputs(case)),
        lines=lines,
        assumptions=tuple(_list_assumptions(case)),
        cautions=(cautions.AIRFLOW, cautions.CUTTING),
    )


def _list_inputs(case: AirflowCase) -> Iterator[Given]:
    yield Given("Volume of air", case.volume_m3, "m³")
    yield Given("Air changes wanted", case.changes_per_h, "per hour")
    yield Given("Face of one louvre, width", case.louvre.face_width_mm, "mm")
    yield Given("Face of one louvre, height", case.louvre.face_height_mm, "mm")
    yield Given("Free-area ratio", case.louvre.free_ratio)
    yield Given("Arrangement", case.arrangement.value)
    if case.wind is not None:
        yield Given("Wind", case.wind.speed_m_s, "m/s")
        if case.wind.coefficient_difference is not None:
            yield Given("Difference of pressure coefficients", case.wind.coefficient_difference)
    if case.warmth is not None:
        yield Given("Temperature inside", case.warmth.inside_c, "°C")
        yield Given("Temperature outside", case.warmth.outside_c, "°C")
        if case.warmth.height_m is not None:
            yield Given("Height from low to high louvres", case.warmth.height_m, "m")
    yield Given("Small vents", case.small_vents)


def _list_wanted(case: AirflowCase, free: float, wanted: float) -> Iterator[Line]:
    ratio = _figure("free-ratio-low")
    yield Line(
        "Free area of one louvre",
        free,
        "m²",
        "A = face · ratio",
        ratio.source,
        ratio.certainty,
    )
    yield Line(
        "Free area counted for small vents",
        0,
        "m²",
        "not counted, however many",
        "common practice, no source: labyrinth vents of a few cm², often painted over",
        Certainty.PRACTICE,
    )
    yield Line("Flow wanted", wanted, "m³/s", "Q = n · V / 3600", "definition", Certainty.DERIVED)
    if case.arrangement is Arrangement.CROSS:
        yield Line(
            "Effective area of one low and one high louvre",
            airflow.series_area_m2(free, free),
            "m²",
            "1/A² = 1/A₁² + 1/A₂²",
            "MIL-HDBK-1011/2 Appendix C",
            Certainty.ONE_TEXT,
        )


def _list_wind_flows(case: AirflowCase, free: float) -> Iterator[Line]:
    wind = case.wind
    if wind is None:
        return
    if case.arrangement is Arrangement.SINGLE_SIDED:
        single = _figure("single-sided")
        yield Line(
            "Wind flow of one louvre",
            airflow.single_sided_wind_flow_m3_s(single.value, free, wind.speed_m_s),
            "m³/s",
            f"Q = {single.value:g} · A · U",
            single.source,
            single.certainty,
        )
    elif wind.coefficient_difference is not None:
        cd = _figure("discharge")
        yield Line(
            "Wind flow of one pair",
            airflow.cross_wind_flow_m3_s(
                cd.value,
                airflow.series_area_m2(free, free),
                wind.speed_m_s,
                wind.coefficient_difference,
            ),
            "m³/s",
            f"Q = {cd.value:g} · A · U · √ΔCp",
            "BS 5925 clause 12",
            cd.certainty,
        )


def _list_warmth_flows(case: AirflowCase, free: float) -> Iterator[Line]:
    warmth = case.warmth
    if warmth is None:
        return
    if case.arrangement is Arrangement.SINGLE_SIDED:
        yield _single_opening_flow(warmth, case.louvre.face_height_mm / 1000, free)
    elif warmth.height_m is not None:
        cd = _figure("discharge")
        inside, outside = warmth.get_kelvin()
        yield Line(
            "Stack flow of one pair",
            airflow.cross_stack_flow_m3_s(
                cd.value,
                airflow.series_area_m2(free, free),
                warmth.height_m,
                abs(inside - outside),
                (inside + outside) / 2,
                gravity=_figure("gravity").value,
            ),
            "m³/s",
            f"Q = {cd.value:g} · A · √(2 · Δθ · g · H / θ̄)",
            "BS 5925 clause 12",
            cd.certainty,
        )


def _single_opening_flow(warmth: Warmth, opening_height_m: float, free: float) -> Line:
    """Return the line of a louvre that lets air in below and out above its own middle."""
    base, slope = _figure("two-way-base"), _figure("two-way-slope")
    inside, outside = warmth.get_kelvin()
    difference = abs(inside - outside)
    return Line(
        "Stack flow of one louvre",
        airflow.neutral_level_stack_flow_m3_s(
            airflow.two_way_discharge(base.value, slope.value, difference),
            free / 2,
            opening_height_m / 2,
            difference,
            max(inside, outside),
            gravity=_figure("gravity").value,
        ),
        "m³/s",
        "Q = Cd · A/2 · √(2 · g · h/2 · ΔT / T), Cd = 0.40 + 0.0045 · ΔT",
        "ASHRAE Fundamentals 1997 eq. 37 and 38; half of the opening taken as inlet",
        Certainty.MEMORY,
    )


def _list_result(
    case: AirflowCase, drives: tuple[Line, ...], sets: int, wanted: float
) -> Iterator[Line]:
    crossing = case.arrangement is Arrangement.CROSS
    flow = max(line.value for line in drives)
    certainty = weakest([*(line.certainty for line in drives), Certainty.PRACTICE])
    basis = "BS 5925: wind and warmth together, the larger of the two"
    formula = "flow wanted / flow of one, rounded up"
    yield Line("Louvres needed", sets * 2 if crossing else sets, "", formula, basis, certainty)
    if crossing:
        yield Line("Low louvres on one side", sets, "", formula, basis, certainty)
        yield Line("High louvres on the other side", sets, "", formula, basis, certainty)
    given = sets * flow
    yield Line("Flow with them", given, "m³/s", "Q = number · flow of one", basis, certainty)
    yield Line(
        "Flow with them, by the hour",
        given * airflow.SECONDS_PER_HOUR,
        "m³/h",
        "Q · 3600",
        basis,
        certainty,
    )
    yield Line(
        "Air changes with them",
        case.changes_per_h * given / wanted,
        "per hour",
        "n = 3600 · Q / V",
        basis,
        certainty,
    )


def _list_assumptions(case: AirflowCase) -> Iterator[str]:
    low, high = _figure("free-ratio-low"), _figure("free-ratio-high")
    yield (
        f"The free-area ratio is the maker's; {low.value:g} to {high.value:g} is common, "
        "and mesh or dust lowers it."
    )
    yield "Small vents are not counted; louvres are open and nothing stands in front of them."
    yield "The unit is otherwise closed and its air is one well mixed volume."
    if case.arrangement is Arrangement.CROSS:
        yield "Half of the louvres sit low in one side, half high in the opposite side, all alike."
    if case.wind is not None:
        yield (
            "The wind is the one at the louvres, blowing all the time; between other units it is "
            "less, and so is the difference of pressure coefficients."
        )
    if case.wind is not None and case.warmth is not None:
        yield "Wind and warmth are not added: the larger counts. Texts disagree on what both give."
        yield "The low louvres face the wind; wind on the high ones works against the warmth."
