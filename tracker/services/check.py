"""Check what is painted on a box before it is reported: can it be right, what else may it be?"""

from __future__ import annotations

from schemas.readings import Masses
from tracker.judge.painted import Painted, judge_beside, judge_painted
from tracker.services.context import Context
from tracker.services.known_marks import StoredMarks


def check(
    context: Context,
    *,
    mark: str | None,
    size_type: str | None,
    masses: Masses,
    depot: str | None = None,
    leaves: bool = False,
) -> Painted:
    """Judge a mark, a size-type code and masses, each where it is given. Records nothing.

    Suggestions are marks expected at `depot`, or anywhere where none is named, then those that any
    depot knows, then others. Of a box that `leaves`, those that stand there come first.
    """
    with context.engine.begin() as connection:
        known = StoredMarks(connection, depot, "in-depot" if leaves else "expected")
        return judge_painted(mark, judge_beside(size_type, masses), known)
