"""The start page: what stands open, the stock, and how programs reach the same."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from tracker.services import sight
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.stock import After, WantedStock, key_after, read_key
from tracker.web.means import TheMeans
from tracker.web.pages.page import render

router = APIRouter(include_in_schema=False)

_MOST_QUESTIONS = 20


@router.get("/")
@needs(*EVERY_ROLE)
def get_start(
    request: Request,
    means: TheMeans,
    actor: TheActor,
    wanted: WantedStock,
    after: After = None,
    size: Annotated[int, Query(ge=1, le=200)] = 50,
) -> HTMLResponse:
    """Show the oldest open questions and a page of the stock."""
    seen = sight.sight_of(actor)
    units = sight.list_stock(means.context, seen, wanted, after=read_key(after), size=size)
    return render(
        request,
        "start.html",
        units=units,
        wanted=wanted,
        next_key=key_after(units, size),
        questions=sight.list_questions(means.context, seen, size=_MOST_QUESTIONS),
        alerts=sight.list_alerts(means.context, seen)[:_MOST_QUESTIONS],
    )
