"""Orders by quantity: how many units of a description are promised, and which went on them."""

from __future__ import annotations

from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Path, Query, Response

from schemas.orders import OrderState
from tracker.papers.collection_note import collection_note_pdf
from tracker.services.actor import Scope
from tracker.services.collection_notes import collection_note_of
from tracker.services.orders_view import list_orders, show_order
from tracker.services.sight import sight_of
from tracker.store.orders import OrderFilter
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.papers import SAYS_PDF, pdf_answer
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/orders", tags=["orders"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_orders(
    means: TheMeans,
    actor: TheActor,
    depot: Annotated[str | None, Query(max_length=16, description="Code of the depot.")] = None,
    state: OrderState | None = None,
    reference: Annotated[
        str | None,
        Query(max_length=200, pattern=r"^[^\x00]*$", description="A part of the buyer's own."),
    ] = None,
) -> list[dict[str, Any]]:
    """Return the orders of one's depots, those that still wait for units first, at most 500.

    `outstanding` is how many units are promised and not yet allotted; `left` of a collection
    reference, how often it still opens the barrier unless it has expired.
    """
    return list_orders(means.context, sight_of(actor), OrderFilter(depot, None, state, reference))


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


@router.get("/{order_id}/collection/{note_id}.pdf", response_class=Response, responses=SAYS_PDF)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_collection_note(
    order_id: Annotated[str, Path(max_length=80, description="The id of the order's event.")],
    note_id: Annotated[UUID, Path(description="The id of the event that gave the reference.")],
    means: TheMeans,
    actor: TheActor,
) -> Response:
    """Return the release note of a collection reference that is good for several of an order."""
    paper = collection_note_of(means.context, sight_of(actor), order_id, str(note_id))
    return pdf_answer(collection_note_pdf(paper), order_id, "release")
