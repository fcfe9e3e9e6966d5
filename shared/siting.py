"""Standing a unit on the ground: load per corner, pressure under fitting and pad, size of pad."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from shared.figures import get_figure
from shared.quantities import require_between

CORNERS: Final = 4
_TABLE: Final = "siting_figures"

Levels = tuple[float, float, float, float]
"""Heights of the four pad tops in mm over any common mark: front left, front right, rear right,
rear left, so that opposite corners are two apart."""


def corner_load_kn(masses_kg: Sequence[int], *, unevenness: float = 1.0) -> float:
    """Return the load on one corner in kN, the masses standing one on the other.

    Args:
        masses_kg: Gross mass of each unit, bottom first, whole kg, not empty.
        unevenness: Heaviest corner against the average; 1 is four equal corners.

    Raises:
        QuantityError: a mass is not 1 to 999 999 kg, or unevenness not 1 to 4.

    Source:
        F = unevenness · m · g / 4, mechanics; derived.
    """
    for mass in masses_kg:
        require_between("A gross mass", mass, "kg", 1, 999_999)
    require_between("The uneven-load factor", unevenness, "", 1, CORNERS)
    gravity = get_figure(_TABLE, "gravity").value
    return unevenness * sum(masses_kg) * gravity / CORNERS / 1000


def pressure_kpa(load_kn: float, length_mm: float, width_mm: float) -> float:
    """Return the pressure in kPa of a load on a rectangle, spread evenly.

    Raises:
        QuantityError: a side is not 1 to 10 000 mm.

    Source:
        p = F / (l · w), mechanics; derived.
    """
    for side in (length_mm, width_mm):
        require_between("The side of a pad", side, "mm", 1, 10_000)
    return load_kn / (length_mm / 1000 * width_mm / 1000)


def bare_fitting_pressure_kpa(load_kn: float) -> float:
    """Return the pressure in kPa under a corner fitting that stands on the ground itself.

    Source:
        Fitting 178 x 162 mm, ISO 1161; from memory.
    """
    length, width = (get_figure(_TABLE, f"fitting-{side}").value for side in ("length", "width"))
    return pressure_kpa(load_kn, length, width)


def least_pad_side_mm(load_kn: float, bearing_kpa: float) -> float:
    """Return the side in mm of the square pad at which the ground is used to its bearing value.

    Raises:
        QuantityError: the bearing value is not 1 to 10 000 kPa.

    Source:
        a = √(F / p), mechanics; derived.
    """
    require_between("The bearing value", bearing_kpa, "kPa", 1, 10_000)
    return math.sqrt(load_kn / bearing_kpa) * 1000


def pad_side_to_make_mm(least_side_mm: float) -> int:
    """Return the side in mm of the pad to make: the next whole step that also holds the fitting.

    Source:
        Steps of 50 mm; our own rule.
    """
    step = get_figure(_TABLE, "pad-step").value
    wanted = max(least_side_mm, get_figure(_TABLE, "fitting-length").value)
    return math.ceil(wanted / step) * int(step)


def pad_diagonal_mm(along_mm: float, across_mm: float) -> float:
    """Return the distance in mm between opposite pad centres; both equal means square.

    Source:
        d = √(l² + w²), geometry; derived.
    """
    return math.hypot(along_mm, across_mm)


def packing_mm(levels_mm: Levels) -> Levels:
    """Return what each pad lacks to the highest, in mm: pack so much and the unit stands level.

    Raises:
        QuantityError: a height is not within a metre of its mark.

    Source:
        Level on all four corners, CTU Code Annex 5 2.2; one text.
    """
    for level in levels_mm:
        require_between("The height of a pad", level, "mm", -1000, 1000)
    highest = max(levels_mm)
    first, second, third, fourth = (highest - level for level in levels_mm)
    return (first, second, third, fourth)


def twist_mm(levels_mm: Levels) -> float:
    """Return how far one pad stands off the plane of the other three, in mm; doors bind on it.

    Zero on a slope that is even: four corners in one plane.

    Source:
        t = |h₁ + h₃ - h₂ - h₄|, geometry; derived.
    """
    front_left, front_right, rear_right, rear_left = levels_mm
    return abs(front_left + rear_right - front_right - rear_left)


def is_offset_allowed(lateral_mm: float, longitudinal_mm: float) -> bool:
    """Say whether a unit stands near enough corner on corner; the limits themselves are allowed.

    Source:
        ISO 3874 and the stacking test of ISO 1496-1; from memory.
    """
    return (
        abs(lateral_mm) <= get_figure(_TABLE, "stack-offset-lateral").value
        and abs(longitudinal_mm) <= get_figure(_TABLE, "stack-offset-longitudinal").value
    )
