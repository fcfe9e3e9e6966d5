"""Hand events in, and hear what became of them."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Final, Literal
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Query, Request, Response

from schemas.verdicts import Receipt, Verdict
from tracker.services import report
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api import event_list
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/events", tags=["events"])

_STATUS: Final = {"waiting": 202, "conflict": 409, "rejected": 403}
"""How the receipt of a single event is answered; one with its verdict is a 200."""

_EVENT: Final = {"$ref": "#/components/schemas/AnyEvent"}
_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {
                "schema": {"anyOf": [_EVENT, {"type": "array", "items": _EVENT, "maxItems": 1000}]}
            }
        },
    }
}
_SAYS: Final[dict[int | str, dict[str, Any]]] = {
    202: {
        "description": "Accepted; it waits for its verdict, or one of the list does",
        "model": Receipt | list[Receipt],
    },
    403: {"description": "Not yours to report; nothing was kept", "model": Receipt},
    409: {"description": "The id is taken by an event with other content", "model": Receipt},
    422: {
        "description": "It cannot be read, and was not kept, as was asked for",
        "model": Receipt,
    },
}


@router.post("", response_model=Receipt | list[Receipt], responses=_SAYS, openapi_extra=_BODY)
@needs(*EVERY_ROLE, scope=Scope.REPORT)
async def post_events(
    request: Request,
    response: Response,
    means: TheMeans,
    actor: TheActor,
    unreadable: Annotated[
        Literal["kept", "back"],
        Query(description="What becomes of what cannot be read: kept as held, or given back."),
    ] = "kept",
) -> Receipt | list[Receipt]:
    """Take in one event, or a list of up to 1,000 that each stand alone.

    What is accepted is durable. The answer to a list is a list of receipts in the same order.
    """
    body = await request.body()
    bodies = await to_thread.run_sync(event_list.split, body)
    await to_thread.run_sync(means.backlog.check)
    take = partial(means.taking_in.take, gives_back=unreadable == "back")
    receipts = await to_thread.run_sync(take, actor, bodies)
    if event_list.is_list(body):
        waits = any(receipt.state == "waiting" for receipt in receipts)
        response.status_code = 202 if waits else 200
        return receipts
    response.status_code = 422 if receipts[0].faults else _STATUS.get(receipts[0].state, 200)
    return receipts[0]


@router.get(
    "/{event_id}",
    response_model=Verdict | Receipt,
    responses={202: {"description": "It waits for its verdict", "model": Receipt}},
)
@needs(*EVERY_ROLE, scope=Scope.REPORT)
async def get_event(
    event_id: UUID,
    response: Response,
    means: TheMeans,
    actor: TheActor,
    wait: Annotated[float, Query(ge=0, le=60, description="Seconds to wait for it.")] = 0,
) -> Verdict | Receipt:
    """Return the verdict on an event; a receipt with `waiting` when there is none in time."""
    receipt = await to_thread.run_sync(report.find_receipt, means.context, actor, event_id)
    if receipt.verdict is None and wait and await means.waiter.wait(event_id, wait):
        receipt = await to_thread.run_sync(report.find_receipt, means.context, actor, event_id)
    if receipt.verdict is None:
        response.status_code = 202
        return receipt
    return receipt.verdict
