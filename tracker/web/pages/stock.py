"""The stock: everything the depots know of, searched, and read page by page."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response, StreamingResponse

from shared import marks
from tracker.services import listings, sight, spreadsheets
from tracker.services.unit_view import UnitUnknownError
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.api.downloads import csv_answer
from tracker.web.api.stock import After, key_after, read_key
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.page import render
from tracker.web.pages.stock_search import StockSearch, TheSearch, choices

router = APIRouter(include_in_schema=False)

PAGE_SIZE: Final = 50


@router.get("/stock")
@needs(*EVERY_ROLE)
def get_stock(
    request: Request, means: TheMeans, person: ThePerson, search: TheSearch, after: After = None
) -> Response:
    """Show a page of the stock; a whole mark that is known leads to its unit."""
    seen = sight.sight_of(person)
    if (name := _whole_mark(search)) and _is_known(means, seen, name):
        return RedirectResponse(f"/units/{quote(name)}", status_code=303)
    today = means.context.clock.now().date()
    units = sight.list_stock(
        means.context, seen, search.wanted(today), after=read_key(after), size=PAGE_SIZE
    )
    return render(
        request,
        "stock.html",
        search=search,
        choices=choices(),
        units=units,
        next_key=key_after(units, PAGE_SIZE),
        depots=seen_depots(means, seen),
    )


@router.get("/stock.csv", response_class=StreamingResponse)
@needs(*EVERY_ROLE)
def get_stock_csv(means: TheMeans, person: ThePerson, search: TheSearch) -> StreamingResponse:
    """Send all that the search finds as CSV, however much it is."""
    today = means.context.clock.now().date()
    seen = sight.sight_of(person)
    pieces = spreadsheets.stock_csv(means.context, seen, search.wanted(today))
    return csv_answer(pieces, f"stock-{today}")


def seen_depots(means: WebMeans, seen: sight.Sight) -> list[str]:
    """Return the codes of the depots that somebody may see."""
    return [one["code"] for one in listings.depots(means.context) if seen.reaches(one["code"])]


def _whole_mark(search: StockSearch) -> str | None:
    return marks.find_compact(search.mark) if search.mark else None


def _is_known(means: WebMeans, seen: sight.Sight, name: str) -> bool:
    try:
        sight.show(means.context, seen, name)
    except UnitUnknownError:
        return False
    return True
