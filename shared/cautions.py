"""The cautions that answers and papers carry where a mistake can hurt someone."""

from __future__ import annotations

from typing import Final

DEFER: Final = (
    "A competent person decides on the spot; the safety plate, the marks on the unit, the maker's "
    "papers of the gear and the local rules stand above this sheet."
)

LIFTING: Final = (
    "A unit that falls or swings kills. Nobody stands under or beside it, damaged fittings, "
    f"posts, rails or pockets are not lifted by, and the gross mass is known. {DEFER}"
)

SITING: Final = (
    "Ground that gives way tips a unit, and a stack with it. Bearing values from a table are "
    "preliminary: look for services, slopes, fill and water, and have doubtful ground tested. "
    f"{DEFER}"
)

STACKING: Final = (
    "The allowable stacking load on the plate and damage to posts and fittings set the height of a "
    f"stack, and wind may set it lower. {DEFER}"
)

AIRFLOW: Final = (
    "Louvres do not make a closed unit safe to enter or to work in: gas, residues and lack of "
    "oxygen are a matter of testing, and fuel, solvents or people inside follow rules of their own."
    f" {DEFER}"
)

CUTTING: Final = (
    "Cutting the shell weakens the unit and may end its approval for transport: ask the approving "
    "body first; weigh the unit afterwards and repaint tare and payload."
)

_LIFTING_BY_BUYER: Final = (
    "A unit that falls or swings kills. Nobody stands under or beside it, and it is never lifted "
    "by damaged fittings, posts, rails or pockets. Tell whoever lifts it what it weighs with all "
    "that is in it."
)
_STANDING: Final = (
    "It stands on its four bottom corner fittings, level and on firm ground that water does not "
    "wash away; doors bind when a corner is off level. Nothing is stacked on it unless the plate "
    "and its state allow it, and wind may tip or move an empty one."
)
_DOORS: Final = (
    "A door may swing out by itself: what is inside may lean on it, and wind takes it. Stand "
    "aside, let it come slowly, and fasten it once it is open."
)
_ENTERING: Final = (
    "A closed unit may hold gas of a fumigation or of its last cargo, or too little oxygen, and "
    "neither need smell. Open it and let it air, have it tested where a label, a cargo or any "
    "doubt says so, and make sure that nobody can be shut in."
)

ENTERING: Final = f"{_ENTERING} {DEFER}"
DOORS: Final = f"{_DOORS} {DEFER}"
UNDER: Final = (
    "Nobody goes under a unit that hangs or stands on a fork: it stands on its own feet or on "
    f"stands that carry it. Loose members fall. {DEFER}"
)
HEIGHT: Final = (
    "A fall from a roof kills. Look from a platform or by a camera; nobody walks on a roof that "
    f"may be rusted through. {DEFER}"
)
DAMAGED: Final = (
    "These limits say when a box goes out of service, never that it is good. Stop work with it "
    f"until it was looked at. {DEFER}"
)

CAUTIONS: Final = {
    "lifting": LIFTING,
    "stacking": STACKING,
    "siting": SITING,
    "entering": ENTERING,
    "doors": DOORS,
    "under": UNDER,
    "height": HEIGHT,
    "damaged": DAMAGED,
    "cutting": CUTTING,
}
"""By the key that data tables name them with."""

FOR_BUYERS: Final = (
    ("Lifting.", _LIFTING_BY_BUYER),
    ("Standing.", _STANDING),
    ("Doors.", _DOORS),
    ("Going in.", _ENTERING),
    ("Cutting.", CUTTING),
)
"""What a buyer who takes a unit away is told, each with its word; `DEFER` belongs under them."""
