"""The holds of a unit: put for a reason, lifted by evidence."""

from __future__ import annotations

from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from schemas.events.hold import HoldKind
from schemas.verdicts import Receipt
from shared import cautions
from shared.ids import new_id
from tracker.services import listings, sight
from tracker.services.actor import Person
from tracker.services.permission import DECIDERS
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import Decided, decide, find_told, go_on
from tracker.web.pages.one_unit import UnitName, naming
from tracker.web.pages.open_damage import mendings_of, offered_holds
from tracker.web.pages.page import render

router = APIRouter(prefix="/holds", include_in_schema=False)

_KINDS: Final = ("hold", "hold-cleared")


def hold_values(person: Person, unit: dict[str, Any]) -> dict[str, Any]:
    """Return what `parts/holds.html` is given: what somebody may do about a unit's holds."""
    roles = person.roles_at(unit["depot"] or "")
    may_hold = unit["presence"] != "disposed" and not roles.isdisjoint(DECIDERS["hold"])
    return {
        "holds": {
            "may_hold": may_hold,
            "may_lift": not roles.isdisjoint(DECIDERS["hold-cleared"]),
            "lifters": " or ".join(sorted(DECIDERS["hold-cleared"])),
            "kinds": list(HoldKind),
            "offered": offered_holds(unit) if may_hold else [],
            "damages": mendings_of(unit),
            "caution": cautions.DAMAGED,
            "form_id": new_id(),
        }
    }


@router.get("")
@needs(*EVERY_ROLE)
async def get_holds(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName, told: UUID | None = None
) -> HTMLResponse:
    """Show a unit's holds, and the forms that put and lift them."""
    receipt = await find_told(means, person, told)
    return await to_thread.run_sync(lambda: _show(request, means, person, unit, told=receipt))


@router.post("")
@needs(*EVERY_ROLE)
async def post_hold(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName
) -> Response:
    """Put or lift a hold; what is refused is told above the forms, which stay filled."""
    record = await to_thread.run_sync(_find, means, person, unit)
    decided = await decide(
        request, means, person, _KINDS, depot=record["depot"] or "", **naming(record)
    )
    if decided.goes_on:
        form = await request.form()
        return go_on(decided, str(form.get("back") or f"/holds?{urlencode({'unit': unit})}"))
    return await to_thread.run_sync(lambda: _show(request, means, person, unit, decided=decided))


def _find(means: WebMeans, person: Person, unit: str) -> dict[str, Any]:
    return sight.show(means.context, sight.sight_of(person), unit).record


def _show(
    request: Request,
    means: WebMeans,
    person: Person,
    unit: str,
    *,
    told: Receipt | None = None,
    decided: Decided | None = None,
) -> HTMLResponse:
    record = _find(means, person, unit)
    return render(
        request,
        "unit/holds.html",
        status=decided.status if decided else 200,
        record=record,
        name=record["mark"] or record["tag"] or unit,
        unit=unit,
        zone=listings.zone_names(means.context).get(record["depot"], "UTC"),
        told=told,
        decided=decided,
        said=decided.event if decided else {},
        **hold_values(person, record),
    )
