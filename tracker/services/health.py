"""How the record is: whether the database answers, and how long events wait for their verdict."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.judge.fold import FOLD_VERSION
from tracker.services.context import Context
from tracker.store import folded, intake, measures
from tracker.store.measures import Measures


@dataclass(frozen=True, slots=True)
class Health:
    """What an operator watches."""

    waiting: int
    oldest_waiting_s: float
    """0 when nothing waits."""
    must_rebuild: bool = False
    """The records were made by another version of the fold than this program's."""


def look(context: Context) -> Health:
    """Return how it is; raises SQLAlchemy's errors when the database does not answer."""
    with context.engine.begin() as connection:
        waiting = intake.count_waiting(connection)
        oldest = intake.oldest_waiting(connection)
        made_by = folded.version(connection)
    age_s = 0.0 if oldest is None else (context.clock.now() - oldest).total_seconds()
    return Health(waiting, max(0.0, round(age_s, 3)), made_by != FOLD_VERSION)


def measure(context: Context) -> Measures:
    """Return what an operator measures; raises SQLAlchemy's errors as `look` does."""
    with context.engine.begin() as connection:
        return measures.read(connection)
