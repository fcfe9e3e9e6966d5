"""The places of requests under way: counted on the one thread of the event loop."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(slots=True)
class Places:
    """How many of the places for requests are taken."""

    taken: int = 0

    @contextlib.contextmanager
    def one(self) -> Iterator[None]:
        """Take a place for the request that is handled in this context."""
        let_in = _places.set(self)
        self.taken += 1
        try:
            yield
        finally:
            self.taken -= 1
            _places.reset(let_in)


_places: ContextVar[Places | None] = ContextVar("places", default=None)


@contextlib.contextmanager
def aside() -> Iterator[None]:
    """Leave the place of this request, if it has one, to others while only time passes."""
    places = _places.get()
    if places is None:
        yield
        return
    places.taken -= 1
    try:
        yield
    finally:
        places.taken += 1
