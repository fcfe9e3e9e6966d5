"""What louvres are worked out for: the air wanted, the louvre, the weather, where they sit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shared.errors import KnowledgeError
from shared.figures import get_figure
from shared.quantities import require_between


class Arrangement(StrEnum):
    """Where the louvres sit: low and high on opposite sides, or all in one side."""

    CROSS = "cross"
    SINGLE_SIDED = "single-sided"


class StillAirError(KnowledgeError):
    """Nothing moves the air: neither wind nor a difference of temperature is given."""

    def __init__(self) -> None:
        super().__init__(
            "Nothing moves the air",
            expected="a wind, or a temperature inside that differs from the one outside",
            remedy="Give the conditions under which the air changes are wanted",
        )


class AirflowIncompleteError(KnowledgeError):
    """Cross ventilation lacks a value it cannot do without; carries the value's name."""

    def __init__(self, missing: str) -> None:
        self.missing = missing
        super().__init__(
            f"Cross ventilation needs {missing}",
            remedy=f"Give {missing}, or put all louvres in one side",
        )


@dataclass(frozen=True, slots=True)
class Louvre:
    """One louvre: the opening it covers in mm, and the share of that which is open."""

    face_width_mm: float
    face_height_mm: float
    free_ratio: float


@dataclass(frozen=True, slots=True)
class Wind:
    """The wind to reckon with. Only cross ventilation asks for the coefficients' difference."""

    speed_m_s: float
    coefficient_difference: float | None = None


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperatures in °C. Only cross ventilation asks for the height from low to high louvres."""

    inside_c: float
    outside_c: float
    height_m: float | None = None

    def get_kelvin(self) -> tuple[float, float]:
        """Return the absolute temperatures inside and outside, in K."""
        zero = get_figure("airflow_figures", "freezing-point").value
        return self.inside_c + zero, self.outside_c + zero


@dataclass(frozen=True, slots=True)
class AirflowCase:
    """What the sheet is to be worked out for; at least one of wind and warmth moves the air."""

    volume_m3: float
    changes_per_h: float
    louvre: Louvre
    arrangement: Arrangement = Arrangement.CROSS
    wind: Wind | None = None
    warmth: Warmth | None = None
    small_vents: int = 0


def check_weather(case: AirflowCase) -> None:
    """Hold that wind and warmth are possible, complete, and move the air at all.

    Raises:
        QuantityError: a number cannot be what it is said to be.
        AirflowIncompleteError: cross ventilation lacks the height or the pressure coefficients.
        StillAirError: neither wind nor a difference of temperature is given.
    """
    crossing = case.arrangement is Arrangement.CROSS
    if case.wind is not None:
        require_between("The wind", case.wind.speed_m_s, "m/s", 0.05, 60)
        difference = case.wind.coefficient_difference
        if difference is not None:
            name = "The difference of pressure coefficients"
            require_between(name, difference, "", 0.01, 3)
        elif crossing:
            raise AirflowIncompleteError("the difference of wind pressure coefficients")
    if case.warmth is not None:
        for where, celsius in (
            ("inside", case.warmth.inside_c),
            ("outside", case.warmth.outside_c),
        ):
            require_between(f"The temperature {where}", celsius, "°C", -60, 90)
        if case.warmth.height_m is not None:
            require_between("The height between the louvres", case.warmth.height_m, "m", 0.05, 20)
        elif crossing:
            raise AirflowIncompleteError("the height from the low to the high louvres")
    if case.wind is None and (case.warmth is None or case.warmth.inside_c == case.warmth.outside_c):
        raise StillAirError
