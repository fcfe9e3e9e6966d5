"""Stock checks: begun and finished by whoever works at the depot."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Path
from pydantic import StringConstraints

from schemas.base import Model
from schemas.events.base import Depot
from tracker.services import stock_check
from tracker.services.actor import Scope
from tracker.services.sight import sight_of
from tracker.web.access import EVERY_ROLE, NotAllowedError, TheActor, ThePerson, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/stock-checks", tags=["stock checks"])

_CHECK = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
CheckId = Annotated[str, StringConstraints(pattern=_CHECK)]
TheCheck = Annotated[str, Path(max_length=80, pattern=_CHECK, description="The check's id.")]


class Begin(Model):
    """What begins a stock check."""

    depot: Depot
    id: CheckId | None = None
    """Left out, one is made."""


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_checks(means: TheMeans, actor: TheActor) -> list[dict[str, Any]]:
    """Return the stock checks of their depots, the last begun first."""
    found = stock_check.list_checks(means.context, sight=sight_of(actor))
    return [asdict(one) for one in found]


@router.post("", status_code=201)
@needs(*EVERY_ROLE)
def post_check(begin: Begin, means: TheMeans, person: ThePerson) -> dict[str, Any]:
    """Begin a stock check; sightings name it as their `check`."""
    if not sight_of(person).reaches(begin.depot):
        raise NotAllowedError(f"a role at {begin.depot}")
    begun = stock_check.begin(means.context, begin.depot, person.shown_as, check_id=begin.id)
    return asdict(begun)


@router.get("/{check_id}")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_check(check_id: TheCheck, means: TheMeans, actor: TheActor) -> dict[str, Any]:
    """Return what a check found without arrival, did not find, and saw in the wrong slot."""
    return asdict(stock_check.compare(means.context, check_id, sight=sight_of(actor)))


@router.post("/{check_id}/finish")
@needs(*EVERY_ROLE)
def post_finish(check_id: TheCheck, means: TheMeans, person: ThePerson) -> dict[str, Any]:
    """Finish a check and return what it came to; the next round tells what it did not find."""
    return asdict(stock_check.finish(means.context, check_id, sight=sight_of(person)))
