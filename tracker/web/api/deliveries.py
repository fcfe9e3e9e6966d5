"""How a batch came in: what arrived, what is missing, what nobody had announced."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path

from tracker.services import sight
from tracker.services.actor import Scope
from tracker.services.deliveries import show_delivery
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/deliveries", tags=["deliveries"])


@router.get("/{batch:path}")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_delivery(
    batch: Annotated[str, Path(max_length=200, description="As pre-advice and gate-in name it.")],
    means: TheMeans,
    actor: TheActor,
) -> dict[str, Any]:
    """Return the shortage report of a batch: counts, and each unit with what differs."""
    return show_delivery(means.context, sight.sight_of(actor), batch)
