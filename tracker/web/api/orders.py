"""Orders by quantity: how many units of a description are promised, and which went on them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query

from tracker.services import order_list
from tracker.services.actor import Scope
from tracker.services.orders_view import show_order
from tracker.services.sight import sight_of
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/orders", tags=["orders"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_orders(
    means: TheMeans,
    actor: TheActor,
    depot: Annotated[str | None, Query(max_length=16, description="Code of the depot.")] = None,
) -> list[dict[str, Any]]:
    """Return the orders of one's depots, those that still wait for units first, at most 500.

    `outstanding` is how many units are promised and not yet allotted.
    """
    return order_list.list_orders(means.context, sight_of(actor), depot)


@router.get("/{order_id}")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_order(
    order_id: Annotated[str, Path(max_length=80, description="The id of the order's event.")],
    means: TheMeans,
    actor: TheActor,
) -> dict[str, Any]:
    """Return an order of one of one's depots, the units that went on it, and its whole history."""
    view = show_order(means.context, sight_of(actor), order_id)
    return {"order": view.order, "history": view.history}
