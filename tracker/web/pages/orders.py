"""Orders by quantity: so many units of a description, promised before anybody says which."""

from __future__ import annotations

from typing import Annotated, Any, Final
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from schemas.events.deal import IntendedUse
from shared.ids import new_id
from tracker.services import orders_view, sight
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import Decided, decide, find_told, go_on
from tracker.web.pages.page import render
from tracker.web.pages.sales import DESK
from tracker.web.pages.stock import seen_depots
from tracker.web.pages.stock_search import choices

router = APIRouter(prefix="/orders", include_in_schema=False)

_KINDS: Final = ("order", "release", "passing-on", "cancellation")
_Code = Annotated[str, Query(max_length=40, pattern=r"^[^\x00]*$")]


@router.get("")
@needs(*DESK)
async def get_orders(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    depot: _Code = "",
    told: UUID | None = None,
) -> HTMLResponse:
    """Show the orders, and the form that places one."""
    receipt = await find_told(means, person, told)
    return await to_thread.run_sync(
        _show, request, means, sight.sight_of(person), depot, receipt, None
    )


@router.post("")
@needs(*DESK)
async def post_order(
    request: Request, means: TheMeans, person: ThePerson, depot: _Code = ""
) -> Response:
    """Place an order, give a collection reference on one, or cancel one."""
    decided = await decide(request, means, person, _KINDS)
    if decided.goes_on:
        return go_on(decided, "/orders")
    seen = sight.sight_of(person)
    return await to_thread.run_sync(_show, request, means, seen, depot, None, decided)


def _show(
    request: Request,
    means: WebMeans,
    seen: sight.Sight,
    depot: str,
    told: Any,  # noqa: ANN401 - a receipt, or none
    decided: Decided | None,
) -> HTMLResponse:
    said = decided.event if decided else {}
    return render(
        request,
        "sales/orders.html",
        status=decided.status if decided else 200,
        told=told,
        decided=decided,
        said=said,
        asked=said.get("description") or {},
        orders=orders_view.list_orders(means.context, seen, depot or None),
        choices=choices(),
        uses=list(IntendedUse),
        depots=seen_depots(means, seen),
        depot=depot,
        house=means.context.settings,
        form_id=new_id(),
    )
