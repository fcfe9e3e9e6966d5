"""The catalogue of work: everybody reads it, a manager changes it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path

from schemas.work_items import ListedWork, WorkName, WorkTerms
from tracker.services import catalogue
from tracker.services.actor import Role, Scope
from tracker.web.access import EVERY_ROLE, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/catalogue", tags=["workshop"])

TheWork = Annotated[
    WorkName, Path(max_length=100, description="In lower case with hyphens: `louvre-vent`.")
]


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_catalogue(means: TheMeans) -> list[ListedWork]:
    """Return all work that the house does."""
    return catalogue.list_work(means.context)


@router.put("/{work}")
@needs(Role.MANAGER)
def put_work(work: TheWork, terms: WorkTerms, means: TheMeans) -> ListedWork:
    """Let the catalogue say so of one piece of work, new or known.

    It says what is sent and no more: a field left out is empty. `price` is text or a number of at
    most two decimals, and comes back as text.
    """
    return catalogue.put(means.context, work, terms)


@router.delete("/{work}", status_code=204)
@needs(Role.MANAGER)
def delete_work(work: TheWork, means: TheMeans) -> None:
    """Take work out of the catalogue. What was reported with it stays."""
    catalogue.remove(means.context, work)
