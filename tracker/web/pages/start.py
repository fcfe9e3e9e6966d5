"""The start page: what stands open, and where each may go on."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from tracker.services import glance, listings, sight
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans
from tracker.web.pages.page import render

router = APIRouter(include_in_schema=False)

_MOST_QUESTIONS: Final = 6


@router.get("/")
@needs(*EVERY_ROLE)
def get_start(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Show how much stands open, and the oldest questions."""
    seen = sight.sight_of(person)
    return render(
        request,
        "start.html",
        totals=glance.count_open(means.context, person),
        questions=sight.list_questions(means.context, seen, size=_MOST_QUESTIONS),
        zones=listings.zone_names(means.context),
    )
