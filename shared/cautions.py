"""The caution that every answer carries where a mistake can hurt someone."""

from __future__ import annotations

from typing import Final

_DEFER: Final = (
    "A competent person decides on the spot; the safety plate, the marks on the unit, the maker's "
    "papers of the gear and the local rules stand above this sheet."
)

LIFTING: Final = (
    "A unit that falls or swings kills. Nobody stands under or beside it, damaged fittings, "
    f"posts, rails or pockets are not lifted by, and the gross mass is known. {_DEFER}"
)

SITING: Final = (
    "Ground that gives way tips a unit, and a stack with it. Bearing values from a table are "
    "preliminary: look for services, slopes, fill and water, and have doubtful ground tested. "
    f"{_DEFER}"
)

STACKING: Final = (
    "The allowable stacking load on the plate and damage to posts and fittings set the height of a "
    f"stack, and wind may set it lower. {_DEFER}"
)

AIRFLOW: Final = (
    "Louvres do not make a closed unit safe to enter or to work in: gas, residues and lack of "
    "oxygen are a matter of testing, and fuel, solvents or people inside follow rules of their own."
    f" {_DEFER}"
)

CUTTING: Final = (
    "Cutting the shell weakens the unit and may end its approval for transport: ask the approving "
    "body first; weigh the unit afterwards and repaint tare and payload."
)
