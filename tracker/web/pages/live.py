"""Tells pages that stay open whether anything changed since they last looked."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from tracker.services import glance
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans

router = APIRouter(include_in_schema=False)


@router.get("/live")
@needs(*EVERY_ROLE)
def get_live(means: TheMeans, person: ThePerson) -> dict[str, Any]:
    """Return how much stands open, and `state`: a text that is another when what is open is."""
    totals = glance.count_open(means.context, person)
    return {
        "questions": totals.questions,
        "breaches": totals.breaches,
        "due": totals.due,
        "state": totals.state,
    }
