"""The gate for numbers that enter a calculation: finite, and within what can be."""

from __future__ import annotations

import math

from shared.errors import KnowledgeError


class QuantityError(KnowledgeError):
    """A number cannot be what it is said to be; carries its name, value, unit and bounds."""

    def __init__(self, name: str, value: float, unit: str, bounds: tuple[float, float]) -> None:
        self.name = name
        self.value = value
        self.unit = unit
        self.bounds = bounds
        low, high = bounds
        super().__init__(
            f"{name} cannot be {value:g} {unit}".rstrip(),
            expected=f"{low:g} to {high:g} {unit}".rstrip(),
            remedy="Look at the number and its unit again",
        )


def require_between(name: str, value: float, unit: str, low: float, high: float) -> float:
    """Return `value` when it is a finite number from `low` to `high`, both included.

    Raises:
        QuantityError: it lies outside, or is no number (NaN) or infinite.
    """
    if not math.isfinite(value) or not low <= value <= high:
        raise QuantityError(name, value, unit, (low, high))
    return value
