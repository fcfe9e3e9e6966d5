"""Walking the stacks with a phone: what stands in which slot, and what a stock check misses."""

from __future__ import annotations

from typing import Annotated, Final
from urllib.parse import urlencode

from anyio import to_thread
from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from shared import cautions
from shared.ids import new_id
from tracker.services import stock_check
from tracker.services.actor import Person, Role
from tracker.services.sight import Sight, sight_of
from tracker.services.stock_check import Comparison
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.naming import ask_which
from tracker.web.pages.own_depot import choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.report_form import hand_in_form, read_form

PREFIX: Final = "/walk"
ROLES: Final = (Role.GATE, Role.WORKSHOP, Role.MANAGER)
_MOST_SHOWN: Final = 100

router = APIRouter(prefix=PREFIX, include_in_schema=False)

Asked = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]*$")]
Said = Annotated[str, Form(max_length=80, pattern=r"^[^\x00]*$")]


@router.get("")
@needs(*ROLES)
def get_walk(
    request: Request, means: TheMeans, person: ThePerson, depot: Asked = "", slot: Asked = ""
) -> HTMLResponse:
    """Show the form of what stands where, and what the stock check under way misses so far."""
    at = choose_depot(request, means, person, ROLES, depot or None)
    page = render(
        request,
        "walk/walk.html",
        at=at,
        slot=slot,
        compared=_find_check(means, sight_of(person), at.code),
        form_id=new_id(),
        most=_MOST_SHOWN,
        height=cautions.LIFTING,
    )
    at.remember(page)
    return page


@router.post("")
@needs(*ROLES)
async def post_walk(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in what was seen, or moved, from a page without script."""
    filled = await read_form(request, means, person, ("sighting", "restow"))
    said = filled.event
    said["slot"] = str(said.get("slot", "")).upper() or None
    if said["kind"] == "restow":
        said.pop("check", None)
    asks = await to_thread.run_sync(ask_which, request, means, person, filled)
    if asks is not None:
        return asks
    back = f"{PREFIX}?{urlencode({'slot': said['slot'] or ''})}"
    return await hand_in_form(request, means, person, filled, back=back)


@router.post("/check")
@needs(*ROLES)
async def post_check(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    depot: Said,
    *,
    finishes: Said = "",
) -> RedirectResponse:
    """Begin a stock check of a depot, or finish the one that is named."""
    at = choose_depot(request, means, person, ROLES, depot)
    await to_thread.run_sync(_settle, means, person, at.code, finishes)
    return RedirectResponse(f"{PREFIX}?{urlencode({'depot': at.code})}", status_code=303)


def _settle(means: WebMeans, person: Person, depot: str, finishes: str) -> None:
    if finishes:
        stock_check.finish(means.context, finishes, sight=sight_of(person))
    elif _find_check(means, sight_of(person), depot) is None:
        stock_check.begin(means.context, depot, person.shown_as)


def _find_check(means: WebMeans, sight: Sight, depot: str) -> Comparison | None:
    """Return what the stock check of a depot came to that was begun last, if it is under way."""
    for check in stock_check.list_checks(means.context, sight=sight):
        if check.depot == depot:
            is_open = check.finished_at is None
            return stock_check.compare(means.context, check.id, sight=sight) if is_open else None
    return None
