"""Natural ventilation through louvres: one function per formula, SI units unless the name says.

All flows are in m³/s, areas are free areas in m², temperature differences in K. The functions take
their coefficients as arguments; the usual ones stand in the table `airflow_figures`.
"""

from __future__ import annotations

import math
from typing import Final

from shared.quantities import require_between

SECONDS_PER_HOUR: Final = 3600


def louvre_free_area_m2(face_width_mm: float, face_height_mm: float, free_ratio: float) -> float:
    """Return the free area in m² of a louvre: its face times the share that is open.

    Raises:
        QuantityError: a side is not 10 to 3000 mm, or the ratio not 0.05 to 1.

    Source:
        A = face · ratio, ratio often 0.3 to 0.6; common practice, no source.
    """
    for side in (face_width_mm, face_height_mm):
        require_between("A side of the louvre", side, "mm", 10, 3000)
    require_between("The free-area ratio", free_ratio, "", 0.05, 1)
    return face_width_mm / 1000 * face_height_mm / 1000 * free_ratio


def series_area_m2(first_m2: float, second_m2: float) -> float:
    """Return the one area that passes as much as two openings one after the other.

    Raises:
        QuantityError: an area is not over zero up to 100 m².

    Source:
        1/A² = 1/A₁² + 1/A₂², MIL-HDBK-1011/2 Appendix C (equal openings: 1.41 A each); one text.
    """
    for area in (first_m2, second_m2):
        require_between("A free area", area, "m²", 1e-6, 100)
    return 1 / math.sqrt(1 / first_m2**2 + 1 / second_m2**2)


def orifice_flow_m3_s(
    discharge: float, area_m2: float, pressure_pa: float, density_kg_m3: float
) -> float:
    """Return the flow through an opening under a pressure difference.

    Source:
        Q = Cd · A · √(2 · Δp / density), BS 5925:1991 clause 9 eq. (2) as corrected in 1995;
        one text.
    """
    require_between("The pressure difference", pressure_pa, "Pa", 0, 10_000)
    require_between("The air's density", density_kg_m3, "kg/m³", 0.5, 2)
    return discharge * area_m2 * math.sqrt(2 * pressure_pa / density_kg_m3)


def cross_wind_flow_m3_s(
    discharge: float, area_m2: float, wind_m_s: float, coefficient_difference: float
) -> float:
    """Return the flow that wind drives from one side to the other.

    Args:
        discharge: Discharge coefficient Cd.
        area_m2: Effective area of both sides in series.
        wind_m_s: Wind speed at the openings' height.
        coefficient_difference: ΔCp, wind pressure coefficient of the one side less the other's.

    Source:
        Q = Cd · A · U · √ΔCp, BS 5925 clause 12; from memory.
    """
    require_between("The wind", wind_m_s, "m/s", 0, 60)
    require_between("The difference of pressure coefficients", coefficient_difference, "", 0, 3)
    return discharge * area_m2 * wind_m_s * math.sqrt(coefficient_difference)


def cross_stack_flow_m3_s(
    discharge: float,
    area_m2: float,
    height_m: float,
    difference_k: float,
    mean_k: float,
    *,
    gravity: float,
) -> float:
    """Return the flow that warmth drives between low and high openings.

    Args:
        discharge: Discharge coefficient Cd.
        area_m2: Effective area of low and high openings in series.
        height_m: From the middle of the low to the middle of the high openings.
        difference_k: Temperature difference between inside and outside, not negative.
        mean_k: Mean absolute temperature of inside and outside.
        gravity: Acceleration of free fall in m/s².

    Source:
        Q = Cd · A · √(2 · Δθ · g · H / θ̄), BS 5925 clause 12; from memory.
    """
    require_between("The height between the openings", height_m, "m", 0, 20)
    require_between("The temperature difference", difference_k, "K", 0, 120)
    return discharge * area_m2 * math.sqrt(2 * difference_k * gravity * height_m / mean_k)


def neutral_level_stack_flow_m3_s(
    discharge: float,
    area_m2: float,
    height_m: float,
    difference_k: float,
    warmer_k: float,
    *,
    gravity: float,
) -> float:
    """Return the stack flow by the second method, which reckons from the neutral level.

    Args:
        discharge: Discharge coefficient Cd.
        area_m2: Free area of the openings on one side of the neutral level.
        height_m: From the neutral level to the middle of those openings.
        difference_k: Temperature difference between inside and outside, not negative.
        warmer_k: Absolute temperature of the warmer side.
        gravity: Acceleration of free fall in m/s².

    Source:
        Q = Cd · A · √(2 · g · ΔH · (Ti - To) / Ti), ASHRAE Fundamentals 1997 eq. 37; one text.
    """
    require_between("The height from the neutral level", height_m, "m", 0, 20)
    require_between("The temperature difference", difference_k, "K", 0, 120)
    return discharge * area_m2 * math.sqrt(2 * gravity * height_m * difference_k / warmer_k)


def two_way_discharge(base: float, slope_per_k: float, difference_k: float) -> float:
    """Return the discharge coefficient of a single opening that air passes both ways.

    Source:
        Cd = 0.40 + 0.0045 · |Ti - To|, ASHRAE Fundamentals 1997 eq. 38; one text.
    """
    return base + slope_per_k * abs(difference_k)


def opening_wind_flow_m3_s(effectiveness: float, area_m2: float, wind_m_s: float) -> float:
    """Return the wind flow by the second method, which reckons from the inlet alone.

    Source:
        Q = Cv · A · U, a textbook quoting ASHRAE; one text (wind at an angle: from memory).
    """
    require_between("The wind", wind_m_s, "m/s", 0, 60)
    return effectiveness * area_m2 * wind_m_s


def single_sided_wind_flow_m3_s(coefficient: float, area_m2: float, wind_m_s: float) -> float:
    """Return the flow that wind drives when all openings are in one side.

    Source:
        Q = 0.025 · A · U, BS 5925; from memory.
    """
    require_between("The wind", wind_m_s, "m/s", 0, 60)
    return coefficient * area_m2 * wind_m_s


def handbook_vent_area_ft2(
    constant: float, flow_cfm: float, wind_ft_min: float, coefficient_difference: float
) -> float:
    """Return the area in ft² that a flow needs, in the customary units of the handbook.

    Raises:
        QuantityError: there is no wind or no difference of pressure coefficients.

    Source:
        A = 1.56 · CFM / (W · √PD), MIL-HDBK-1011/2 Appendix C step 14; one text.
    """
    require_between("The wind", wind_ft_min, "ft/min", 1, 12_000)
    require_between("The difference of pressure coefficients", coefficient_difference, "", 0.001, 3)
    return constant * flow_cfm / (wind_ft_min * math.sqrt(coefficient_difference))


def joint_flow_m3_s(wind_flow: float, stack_flow: float) -> float:
    """Return the flow to reckon with when wind and warmth act together: the larger, not the sum.

    Source:
        BS 5925; from memory. Another text adds the heads, flow ∝ √(sum), which gives more.
    """
    return max(wind_flow, stack_flow)


def air_changes_per_h(flow_m3_s: float, volume_m3: float) -> float:
    """Return how often an hour the flow fills the volume.

    Source:
        n = 3600 · Q / V, definition.
    """
    require_between("The volume", volume_m3, "m³", 0.1, 1000)
    return flow_m3_s * SECONDS_PER_HOUR / volume_m3


def flow_for_air_changes_m3_s(changes_per_h: float, volume_m3: float) -> float:
    """Return the flow that fills the volume so often an hour.

    Source:
        Q = n · V / 3600, definition.
    """
    require_between("The air changes", changes_per_h, "per hour", 0.01, 200)
    require_between("The volume", volume_m3, "m³", 0.1, 1000)
    return changes_per_h * volume_m3 / SECONDS_PER_HOUR
