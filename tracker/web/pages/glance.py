"""The stock at a glance, in pictures with their tables."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from tracker.services import glance, sight
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans
from tracker.web.pages.page import render
from tracker.web.pages.pictures import draw_bars, label_words
from tracker.web.pages.stock import seen_depots

router = APIRouter(include_in_schema=False)

_Code = Annotated[str, Query(max_length=40, pattern=r"^[^\x00]*$")]


@router.get("/stock/glance")
@needs(*EVERY_ROLE)
def get_glance(
    request: Request, means: TheMeans, person: ThePerson, depot: _Code = ""
) -> HTMLResponse:
    """Show what there is, how long it has stood, what comes due, and what came and went."""
    seen = sight.sight_of(person)
    found = glance.look(means.context, seen, depot or None)
    pictures = (
        ("By size and condition", found.by_size, "Size", True),
        ("By how long it has stood", found.by_stay, "Stands here", False),
        ("Examinations coming, by month", found.examinations, "Month", False),
        ("Arrivals and departures, by week", found.gate, "Week from", False),
    )
    return render(
        request,
        "glance.html",
        glance=found,
        pictures=[
            {
                "title": title,
                "counted": counted,
                "first": first,
                "svg": draw_bars(counted, title, stacked=stacked),
            }
            for title, counted, first, stacked in pictures
        ],
        label_words=label_words,
        depot=depot,
        depots=seen_depots(means, seen),
    )
