"""What a person must settle."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from tracker.services import sight
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.stock import Word
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/questions", tags=["questions"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_questions(
    means: TheMeans,
    actor: TheActor,
    depot: Word = None,
    size: Annotated[int, Query(ge=1, le=1000)] = 500,
) -> list[dict[str, Any]]:
    """Return open questions, the oldest first; an answered one makes room for the next."""
    seen = sight.sight_of(actor)
    return sight.list_questions(means.context, seen, depot=depot, size=size)
