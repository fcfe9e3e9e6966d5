"""The sales desk: find what a buyer wants, compare, reserve, sell, release."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Final
from urllib.parse import urlencode
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from schemas.events.deal import CustomsStatus, Handover, IntendedUse
from schemas.events.gate import Purpose
from shared import cautions
from shared.ids import new_id
from tracker.services import catalogue, deal_view, listings, sight
from tracker.services.actor import Person, Role
from tracker.web.access import ThePerson, needs
from tracker.web.api.stock import After, key_after, read_key
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import as_typed, decide, find_told, go_on, work_typed
from tracker.web.pages.one_unit import UnitName
from tracker.web.pages.open_damage import mendings_of
from tracker.web.pages.page import render
from tracker.web.pages.stock import PAGE_SIZE, seen_depots
from tracker.web.pages.stock_search import TheSearch, choices
from tracker.web.pages.workshop import may_work

router = APIRouter(prefix="/sales", include_in_schema=False)

DESK: Final = (Role.SALES, Role.MANAGER)
MOST_COMPARED: Final = 3
_KINDS: Final = (
    "reservation",
    "sale",
    "release",
    "passing-on",
    "cancellation",
    "take-back",
    "acquisition",
    "delivery",
    "payment",
    "work-order",
)
_REPORTED_AT_WORKSHOP: Final = {
    "release.work-unfinished": "",
    "release.masses-to-repaint": "#paint",
    "release.to-weigh": "#weigh",
    "release.previous-marks": "#marks",
    "release.labels-on": "#labels",
}
"""What ends a hindrance to releasing, by where on the workshop's page of a unit it is reported."""
_REPORTED: Final = {
    "release.approval-void": "#approval",
    "release.no-valid-examination": "#examination",
}
"""What lifts a hindrance, by where it is reported."""
LEFT: Final = "left"
_STANDS: Final = ("free", "reserved", "sold", "released", LEFT)
_TABS: Final = {"free": "For sale", LEFT: "Left, papers missing"}

_Use = Annotated[IntendedUse, Query()]


@router.get("")
@needs(*DESK)
def get_sales(
    request: Request, means: TheMeans, person: ThePerson, search: TheSearch, after: After = None
) -> HTMLResponse:
    """Show what is for sale and fits what is asked for; or what is reserved, sold, released.

    What has left is shown as long as something is missing, such as the proof of export.
    """
    seen = sight.sight_of(person)
    stands = search.stands if search.stands in _STANDS else "free"
    today = means.context.clock.now().date()
    if stands == LEFT:
        wanted = replace(search.wanted(today, presence="away"), stands=None, owes=True)
    else:
        wanted = search.wanted(today, stands=stands, presence="in-depot")
    units = sight.list_stock(means.context, seen, wanted, after=read_key(after), size=PAGE_SIZE)
    return render(
        request,
        "sales/find.html",
        search=search,
        stands=stands,
        tabs={one: _TABS.get(one, one.capitalize()) for one in _STANDS},
        choices=choices(),
        units=units,
        next_key=key_after(units, PAGE_SIZE),
        depots=seen_depots(means, seen),
        most=MOST_COMPARED,
    )


@router.get("/compare")
@needs(*DESK)
def get_compare(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    unit: Annotated[list[UnitName], Query(max_length=PAGE_SIZE)] = [],  # noqa: B006 - FastAPI copies it
) -> HTMLResponse:
    """Show up to three units side by side."""
    seen = sight.sight_of(person)
    names = list(dict.fromkeys(unit))
    deals = [deal_view.show_deal(means.context, seen, one) for one in names[:MOST_COMPARED]]
    return render(
        request, "sales/compare.html", deals=deals, left_out=names[MOST_COMPARED:],
        most=MOST_COMPARED, zones=listings.zone_names(means.context),
    )  # fmt: skip


@router.get("/deal")
@needs(*DESK)
async def get_deal(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    unit: UnitName,
    *,
    use: _Use = IntendedUse.STORAGE,
    told: UUID | None = None,
) -> HTMLResponse:
    """Show how far a deal has come, what may be done next, and what still stands against it."""
    receipt = await find_told(means, person, told)
    values = await to_thread.run_sync(_look, means, person, unit, use)
    return render(request, "sales/deal.html", told=receipt, decided=None, said={}, **values)


@router.post("/deal")
@needs(*DESK)
async def post_deal(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    unit: UnitName,
    use: _Use = IntendedUse.STORAGE,
) -> Response:
    """Reserve, sell, release, cancel or take back; a refusal is shown with its reasons."""
    seen = sight.sight_of(person)
    deal = await to_thread.run_sync(_find, means, seen, unit, use)
    named = {"mark": deal.record["mark"]} if deal.record["mark"] else {"tag": deal.record["tag"]}
    form = await request.form()
    if form.get("kind") == "passing-on":
        named = {}  # the reference says which unit
    elif form.get("kind") == "cancellation":
        # It names what it cancels; a mark beside it would be judged once more.
        named = {"mark": deal.record["mark"]} if deal.record["mark"] else {}
    decided = await decide(
        request, means, person, _KINDS, depot=deal.record["depot"] or "", **named
    )
    if decided.goes_on:
        return go_on(decided, f"/sales/deal?{urlencode({'unit': unit})}")
    values = await to_thread.run_sync(_look, means, person, unit, use)
    if decided.event["kind"] == "work-order":
        values["asked_work"] = work_typed(decided)
    return render(
        request, "sales/deal.html", status=decided.status, told=None, decided=decided,
        said=as_typed(decided), **values,
    )  # fmt: skip


def _find(means: WebMeans, seen: sight.Sight, unit: str, use: IntendedUse) -> deal_view.Deal:
    return deal_view.show_deal(means.context, seen, unit, use=use.value)


def _look(means: WebMeans, person: Person, unit: str, use: IntendedUse) -> dict[str, Any]:
    deal = _find(means, sight.sight_of(person), unit, use)
    is_theirs = may_work(person, deal.record)
    items = catalogue.list_work(means.context)
    return {
        "deal": deal,
        "record": deal.record,
        "damages": mendings_of(deal.record),
        "use": use,
        "uses": list(IntendedUse),
        "zone": listings.zone_names(means.context).get(deal.record["depot"], "UTC"),
        "form_id": new_id(),
        "customs": list(CustomsStatus),
        "lifting": cautions.LIFTING,
        "now": means.context.clock.now(),
        "house": means.context.settings,
        "works": [item.name for item in items],
        "items": items,
        "asked_work": deal.to_order,
        "handovers": list(Handover),
        "cutting": cautions.CUTTING,
        "reported": _REPORTED,
        "has_left": deal.record["presence"] in ("away", "disposed"),
        "came_back": _came_back(deal.record),
        "at_workshop": _REPORTED_AT_WORKSHOP if is_theirs else {},
    }


def _came_back(record: dict[str, Any]) -> bool:
    """Say whether a sold unit came in again after its sale, as one that is still its buyer's."""
    sold, is_here = record["sale"], record["presence"] == "in-depot"
    return bool(
        sold
        and is_here
        and record["purpose"] in (Purpose.TAKE_BACK, Purpose.FAILED_DELIVERY)
        and sold["sold_at"] < (record["arrived_at"] or "")
    )
