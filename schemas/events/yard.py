"""What the yard reports: seen here, moved there, gone for good."""

from __future__ import annotations

from typing import Literal

from schemas.base import Text
from schemas.events.base import Fact, Slot


class Sighting(Fact):
    """A unit was seen, as in a stock check."""

    kind: Literal["sighting"]
    slot: Slot | None = None
    check: Text | None = None
    """The stock check in which it was seen, by its id."""


class Restow(Fact):
    """A unit was moved within the depot."""

    kind: Literal["restow"]
    slot: Slot


class Disposal(Fact):
    """A unit's life here ended."""

    kind: Literal["disposal"]
    manner: Literal["scrapped", "lost", "destroyed"]
