"""The places that the bar on top of every page leads to, each for those who may go there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from tracker.services.actor import Person, Role


@dataclass(frozen=True, slots=True)
class Place:
    """One link of the bar. `within` are paths that belong to it besides its own."""

    path: str
    says: str
    roles: frozenset[Role]
    about: str
    """What one does there, for the start page."""
    within: tuple[str, ...] = ()

    def is_at(self, path: str) -> bool:
        """Say whether a path is this place, or lies within it."""
        return any(path == one or path.startswith(f"{one}/") for one in (self.path, *self.within))


_ALL: Final = frozenset(Role)

PLACES: Final = (
    Place(
        "/gate",
        "Gate",
        frozenset({Role.GATE, Role.MANAGER}),
        "What comes in, what leaves, and whether it may.",
    ),
    Place(
        "/workshop",
        "Workshop",
        frozenset({Role.WORKSHOP, Role.MANAGER}),
        "What to fit and mend today, and the tare to paint.",
    ),
    Place(
        "/walk",
        "Stacks",
        frozenset({Role.GATE, Role.WORKSHOP, Role.MANAGER}),
        "Walk the stacks: what stands in which slot, what was moved, what a stock check misses.",
    ),
    Place(
        "/sales",
        "Sales",
        frozenset({Role.SALES, Role.MANAGER}),
        "Find what a buyer wants; reserve, sell, release.",
        within=("/orders", "/claims", "/batches"),
    ),
    Place(
        "/stock",
        "Stock",
        _ALL,
        "Every unit, its history, and the whole at a glance.",
        within=(
            "/reports",
            "/units",
        ),
    ),
    Place(
        "/questions", "Questions", _ALL, "What a person must settle, and what should not have been."
    ),
    Place("/alerts", "Alerts", _ALL, "Examinations, repairs and work that fall due."),
    Place(
        "/catalogue",
        "Catalogue",
        frozenset({Role.MANAGER}),
        "The work the house does: what it weighs, cuts and costs.",
    ),
    Place("/people", "People", frozenset({Role.MANAGER}), "Who may sign in, and as what."),
)


def places_for(actor: object) -> list[Place]:
    """Return the places that somebody may go to; a machine has none."""
    if not isinstance(actor, Person):
        return []
    return [place for place in PLACES if actor.has_any(place.roles)]
