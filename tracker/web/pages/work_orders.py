"""Ordering work on a unit, by whoever may: workshop, sales desk and manager of its depot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from schemas.verdicts import Receipt
from shared import cautions
from shared.ids import new_id
from tracker.services import catalogue, deal_view, listings, sight
from tracker.services.actor import Person
from tracker.services.permission import DECIDERS
from tracker.web.access import NotAllowedError, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import Decided, as_typed, decide, find_told, go_on, work_typed
from tracker.web.pages.one_unit import UnitName, naming
from tracker.web.pages.page import render

PREFIX: Final = "/work-orders"
ROLES: Final = tuple(sorted(DECIDERS["work-order"]))

router = APIRouter(prefix=PREFIX, include_in_schema=False)

_ORDERED_WHERE: Final = ("in-depot", "expected")


def may_order_work(person: Person, unit: Mapping[str, Any]) -> bool:
    """Say whether a unit is where work is done, and somebody's roles there let them order it."""
    is_there = unit["presence"] in _ORDERED_WHERE
    return is_there and not person.roles_at(unit["depot"] or "").isdisjoint(ROLES)


@router.get("")
@needs(*ROLES)
async def get_work_order(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName, told: UUID | None = None
) -> HTMLResponse:
    """Show the form that orders work on a unit, and what is ordered already."""
    receipt = await find_told(means, person, told)
    return await to_thread.run_sync(lambda: _show(request, means, person, unit, told=receipt))


@router.post("")
@needs(*ROLES)
async def post_work_order(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName
) -> Response:
    """Order work; a refusal is told above the form, which stays filled."""
    record = (await to_thread.run_sync(_find, means, person, unit)).record
    decided = await decide(
        request, means, person, ("work-order",), depot=record["depot"], **naming(record)
    )
    if decided.goes_on:
        return go_on(decided, f"{PREFIX}?{urlencode({'unit': unit})}")
    return await to_thread.run_sync(lambda: _show(request, means, person, unit, decided=decided))


def _find(means: WebMeans, person: Person, unit: str) -> deal_view.Deal:
    deal = deal_view.show_deal(means.context, sight.sight_of(person), unit)
    if not may_order_work(person, deal.record):
        takes = " or ".join(ROLES)
        raise NotAllowedError(f"{takes} at the depot of the unit, which is there or expected")
    return deal


def _show(
    request: Request,
    means: WebMeans,
    person: Person,
    unit: str,
    *,
    told: Receipt | None = None,
    decided: Decided | None = None,
) -> HTMLResponse:
    deal = _find(means, person, unit)
    return render(
        request,
        "workshop/order_work.html",
        status=decided.status if decided else 200,
        told=told,
        decided=decided,
        again=as_typed(decided) if decided else {},
        asked_work=work_typed(decided) if decided else deal.to_order,
        to_order=deal.to_order,
        record=deal.record,
        name=deal.name,
        unit=unit,
        items=catalogue.list_work(means.context),
        cutting=cautions.CUTTING,
        now=means.context.clock.now().astimezone(
            listings.zone_of(means.context, deal.record["depot"] or "")
        ),
        zone=listings.zone_names(means.context).get(deal.record["depot"], "UTC"),
        form_id=new_id(),
    )
