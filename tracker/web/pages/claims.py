"""The claims of a unit: notice is given of them, and each comes to its end."""

from __future__ import annotations

from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.datastructures import FormData

from schemas.events.claim import ClaimOutcome
from schemas.verdicts import Receipt
from shared.ids import new_id
from tracker.services import claims_view, listings, sight
from tracker.services.actor import Person
from tracker.web.access import NotAllowedError, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.deciding import Decided, decide, find_told, go_on
from tracker.web.pages.one_unit import UnitName, naming
from tracker.web.pages.page import render
from tracker.web.pages.sales import DESK

router = APIRouter(prefix="/claims", include_in_schema=False)

_KINDS: Final = ("claim-notice", "claim-closed")
_TICKS: Final = "claims:list"
_AMOUNT: Final = "amount:money"


def may_claim(person: Person, depot: str | None) -> bool:
    """Say whether somebody's roles at a depot let them see to the claims of its units."""
    return not person.roles_at(depot or "").isdisjoint(DESK)


@router.get("")
@needs(*DESK)
async def get_claims(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    unit: UnitName,
    told: UUID | None = None,
) -> HTMLResponse:
    """Show a unit's open claims, and the forms of notice and of closing."""
    receipt = await find_told(means, person, told)
    found = await to_thread.run_sync(_find, means, person, unit)
    return _show(request, means, found, told=receipt)


@router.post("")
@needs(*DESK)
async def post_claim(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName
) -> Response:
    """Record notice that was given, or close a claim; what is wrong is told above the forms."""
    found = await to_thread.run_sync(_find, means, person, unit)
    form = await request.form()
    if form.get("kind") == "claim-notice" and not form.getlist(_TICKS):
        # An event that names no claim speaks of all that had none: nobody says that by silence.
        return _show(request, means, found, form=form, unticked=True)
    decided = await decide(request, means, person, _KINDS, **_fixed(means, found, form))
    if decided.goes_on:
        return go_on(decided, f"/claims?{urlencode({'unit': unit})}")
    found = await to_thread.run_sync(_find, means, person, unit)
    return _show(request, means, found, form=form, decided=decided)


def _find(means: WebMeans, person: Person, unit: str) -> claims_view.UnitClaims:
    """Return the claims; raises `NotAllowedError` when they are for others to see to."""
    found = claims_view.show_claims(means.context, sight.sight_of(person), unit)
    depot = found.record["depot"]
    if not may_claim(person, depot):
        takes = " or ".join(f"the role {role}" for role in sorted(DESK))
        raise NotAllowedError(f"{takes} at {depot}")
    return found


def _fixed(means: WebMeans, found: claims_view.UnitClaims, form: FormData) -> dict[str, Any]:
    """Return what an event of these forms says whatever is typed."""
    record = found.record
    fixed = {"depot": record["depot"] or ""}
    fixed |= naming(record)
    if form.get(_AMOUNT) and not form.get("currency"):
        fixed["currency"] = means.context.settings.currency
    return fixed


def _show(  # noqa: PLR0913 - what the page is made of
    request: Request,
    means: WebMeans,
    found: claims_view.UnitClaims,
    *,
    told: Receipt | None = None,
    form: FormData | None = None,
    unticked: bool = False,
    decided: Decided | None = None,
) -> HTMLResponse:
    said = {name: one for name, one in form.multi_items() if isinstance(one, str)} if form else {}
    firms = {one.responsible for one in found.claims if one.responsible}
    return render(
        request,
        "sales/claims.html",
        status=422 if unticked else decided.status if decided else 200,
        found=found,
        told=told,
        decided=decided,
        unticked=unticked,
        said=said,
        ticked=form.getlist(_TICKS) if form and said.get("kind") == "claim-notice" else None,
        zone=listings.zone_names(means.context).get(found.record["depot"], "UTC"),
        firm=firms.pop() if len(firms) == 1 else "",
        outcomes=list(ClaimOutcome),
        house=means.context.settings,
        form_id=new_id(),
    )
