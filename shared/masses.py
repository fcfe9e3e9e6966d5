"""The arithmetic of masses on a box: gross, tare, payload, and kilograms against pounds."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from shared.errors import KnowledgeError

KILOGRAMS_PER_POUND = Decimal("0.45359237")
"""Exact by definition of the international pound."""

_HUNDRED_MILLIONTHS_PER_POUND = 45_359_237
PAIR_TOLERANCE_LB = 25
"""How far a painted pound value may lie from its kilograms, unless 0.1 % is more."""


class MassesError(KnowledgeError):
    """Masses cannot stand together; carries gross and tare in whole kg."""

    def __init__(self, gross_kg: int, tare_kg: int) -> None:
        self.gross_kg = gross_kg
        self.tare_kg = tare_kg
        super().__init__(
            f"A tare of {write_kilograms(tare_kg)} leaves nothing of a gross mass of "
            f"{write_kilograms(gross_kg)}",
            expected="a tare between 0 kg and the maximum gross mass",
            remedy="Weigh the box, or read its plate again",
        )


class Loading(NamedTuple):
    """What a box weighs and what may go into it, whole kg."""

    gross_kg: int
    tare_kg: int
    payload_kg: int


def maximum_payload(gross_kg: int, tare_kg: int) -> int:
    """Return what may be loaded, whole kg, never negative.

    Raises:
        MassesError: the tare exceeds the gross mass, or is negative.

    Source:
        CSC Annex I: P = R - tare, one text.
    """
    if not 0 <= tare_kg <= gross_kg:
        raise MassesError(gross_kg, tare_kg)
    return gross_kg - tare_kg


def sum_difference(gross_kg: int, tare_kg: int, payload_kg: int) -> int:
    """Return how many kg tare and payload together exceed the gross mass; 0 when they agree."""
    return tare_kg + payload_kg - gross_kg


def after_fitting(gross_kg: int, tare_kg: int, added_kg: int) -> Loading:
    """Return the masses after work that adds `added_kg`, the gross mass unchanged.

    Args:
        gross_kg: Maximum gross mass as plated; a fitting never raises it.
        tare_kg: Tare as it now is, whole kg.
        added_kg: Mass of what stays on the box less the steel cut out; negative when more was
            taken off than put on.

    Raises:
        MassesError: nothing would be left to load, or nothing of the box.

    Source:
        CSC Annex I: the tare includes permanently affixed ancillary equipment, one text.
    """
    tare_after_kg = tare_kg + added_kg
    return Loading(gross_kg, tare_after_kg, maximum_payload(gross_kg, tare_after_kg))


def pounds_to_kilograms(pounds: int) -> Decimal:
    """Return the exact kilograms of whole pounds."""
    return pounds * KILOGRAMS_PER_POUND


def kilograms_to_pounds(kilograms: int) -> Decimal:
    """Return the pounds of whole kilograms, to 28 digits."""
    return kilograms / KILOGRAMS_PER_POUND


def pair_agrees(kilograms: int, pounds: int) -> bool:
    """Tell whether a painted pair means one mass: within 25 lb or 0.1 %, whichever is more.

    Source:
        Rounding of the values ISO 668 and plates print, derived.
    """
    # Scaled to hundred-millionths of a kg, so that whole numbers decide and no limit is blurred.
    off = abs(pounds * _HUNDRED_MILLIONTHS_PER_POUND - kilograms * 100_000_000)
    return off <= max(PAIR_TOLERANCE_LB * _HUNDRED_MILLIONTHS_PER_POUND, kilograms * 100_000)


def is_same_mass(one_kg: int, other_kg: int) -> bool:
    """Tell whether two masses are one but for rounding: within 25 lb or 0.1 %, whichever is more.

    Source:
        As `pair_agrees`, derived.
    """
    off = abs(one_kg - other_kg) * 100_000_000
    return off <= max(PAIR_TOLERANCE_LB * _HUNDRED_MILLIONTHS_PER_POUND, one_kg * 100_000)


def write_kilograms(kilograms: int) -> str:
    """Write a mass for people: `30 480 kg`."""
    return f"{kilograms:,} kg".replace(",", " ")


def write_pounds(pounds: int) -> str:
    """Write a mass for people: `67 200 lb`."""
    return f"{pounds:,} lb".replace(",", " ")


def write_newtons(newtons: int) -> str:
    """Write a force for people: `150 000 N`."""
    return f"{newtons:,} N".replace(",", " ")
