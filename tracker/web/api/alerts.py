"""What falls due, and breaches."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from tracker.services import sight
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.stock import Word
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/alerts", tags=["alerts"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_alerts(
    means: TheMeans,
    actor: TheActor,
    depot: Word = None,
    size: Annotated[int, Query(ge=1, le=1000)] = 500,
) -> list[dict[str, Any]]:
    """Return open alerts with the mark of their unit, the soonest due first."""
    return sight.list_alerts(means.context, sight.sight_of(actor), depot=depot, size=size)
