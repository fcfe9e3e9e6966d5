"""Orders by quantity: so many units of a description, promised before anybody says which."""

from __future__ import annotations

from typing import Annotated, Final, Literal, get_args
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from schemas.events.deal import Handover, IntendedUse
from schemas.orders import OrderState
from schemas.verdicts import Receipt
from shared.ids import new_id
from tracker.services import listings, orders_view, sight
from tracker.services.actor import Person
from tracker.store.orders import OrderFilter
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import Decided, decide, find_told, go_on
from tracker.web.pages.own_depot import likely_depot, remember
from tracker.web.pages.page import render
from tracker.web.pages.sales import DESK
from tracker.web.pages.stock import seen_depots
from tracker.web.pages.stock_search import choices

router = APIRouter(prefix="/orders", include_in_schema=False)

_ON_ORDER: Final = ("release", "passing-on", "cancellation", "payment")
_Id = Annotated[str, Path(max_length=40, pattern=r"^[^\x00]+$")]
_Text = Annotated[str, Field(max_length=200, pattern=r"^[^\x00]*$")]


class _Wanted(BaseModel):
    """Which orders are asked for, as the form was sent: what is empty asks for nothing."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    depot: _Text = ""
    state: OrderState | Literal[""] = ""
    reference: _Text = ""

    def as_filter(self) -> OrderFilter:
        """Return what it means."""
        return OrderFilter(
            self.depot or None, None, self.state or None, self.reference.strip() or None
        )


@router.get("")
@needs(*DESK)
async def get_orders(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    wanted: Annotated[_Wanted, Query()],
    told: UUID | None = None,
) -> HTMLResponse:
    """Show the orders asked for, and the form that places one."""
    receipt = await find_told(means, person, told)
    page = await to_thread.run_sync(_show, request, means, person, wanted, receipt, None)
    if sight.sight_of(person).reaches(wanted.depot):
        remember(page, wanted.depot)
    return page


@router.post("")
@needs(*DESK)
async def post_order(request: Request, means: TheMeans, person: ThePerson) -> Response:
    """Place an order; what came of it stands on the order's page."""
    decided = await decide(request, means, person, ("order",))
    if decided.goes_on:
        to = f"/orders/{decided.event['id']}" if _is_known(decided) else "/orders"
        answer = go_on(decided, to)
        remember(answer, decided.event["depot"])
        return answer
    return await to_thread.run_sync(_show, request, means, person, _Wanted(), None, decided)


@router.get("/{order_id}")
@needs(*DESK)
async def get_one_order(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    order_id: _Id,
    told: UUID | None = None,
) -> HTMLResponse:
    """Show one order: what it asks for, its references, its units, and what may be done next."""
    receipt = await find_told(means, person, told)
    return await to_thread.run_sync(_show_one, request, means, person, order_id, receipt, None)


@router.post("/{order_id}")
@needs(*DESK)
async def post_on_order(
    request: Request, means: TheMeans, person: ThePerson, order_id: _Id
) -> Response:
    """Give a collection reference on an order or pass one on; cancel it, or record its payment."""
    view = await to_thread.run_sync(
        orders_view.show_order, means.context, sight.sight_of(person), order_id
    )
    form = await request.form()
    named = {"order": order_id} if form.get("kind") == "release" else {}
    decided = await decide(request, means, person, _ON_ORDER, depot=view.order["depot"], **named)
    if decided.goes_on:
        return go_on(decided, f"/orders/{order_id}")
    return await to_thread.run_sync(_show_one, request, means, person, order_id, None, decided)


def _is_known(decided: Decided) -> bool:
    return decided.receipt is not None and decided.receipt.state == "recorded"


def _show_one(
    request: Request,
    means: WebMeans,
    person: Person,
    order_id: str,
    told: Receipt | None,
    decided: Decided | None,
) -> HTMLResponse:
    view = orders_view.show_order(means.context, sight.sight_of(person), order_id)
    return render(
        request,
        "sales/order.html",
        status=decided.status if decided else 200,
        told=told,
        decided=decided,
        said=decided.event if decided else {},
        order=view.order,
        described=orders_view.described(view.order["description"]),
        rows=sorted(view.history, key=lambda row: (row["effective_at"], row["seq"]), reverse=True),
        zone=listings.zone_names(means.context).get(view.order["depot"], "UTC"),
        today=means.context.clock.now().date().isoformat(),
        form_id=new_id(),
    )


def _show(
    request: Request,
    means: WebMeans,
    person: Person,
    wanted: _Wanted,
    told: Receipt | None,
    decided: Decided | None,
) -> HTMLResponse:
    said = decided.event if decided else {}
    seen = sight.sight_of(person)
    sellable = [one for one in seen_depots(means, seen) if person.roles_at(one) & set(DESK)]
    return render(
        request,
        "sales/orders.html",
        status=decided.status if decided else 200,
        told=told,
        decided=decided,
        said=said,
        asked=said.get("description") or {},
        orders=orders_view.list_orders(means.context, seen, wanted.as_filter()),
        wanted=wanted,
        states=get_args(OrderState),
        choices=choices(),
        uses=list(IntendedUse),
        handovers=list(Handover),
        depots=seen_depots(means, seen),
        sellable=sellable,
        zone=listings.zone_names(means.context).get(str(said.get("depot")), "UTC"),
        likely=likely_depot(request, sellable),
        house=means.context.settings,
        form_id=new_id(),
    )
