"""The form that corrects one recorded event: reached from its place in the line of time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from typing import Any
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from shared.ids import new_id
from tracker.services import listings, sight
from tracker.services.actor import Person
from tracker.services.permission import correctors_of
from tracker.services.standing import Standing, find_standing
from tracker.web.access import EVERY_ROLE, NotAllowedError, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.correction_fields import groups_for, read_changes
from tracker.web.pages.deciding import Decided, decide, go_on
from tracker.web.pages.page import render

router = APIRouter(prefix="/corrections", include_in_schema=False)


@dataclass(frozen=True, slots=True)
class _Asked:
    """An event that somebody wants to correct, and where they do it."""

    standing: Standing
    depot: str
    zone: tzinfo


@router.get("/{event_id}")
@needs(*EVERY_ROLE)
def get_correction(
    request: Request, event_id: UUID, means: TheMeans, person: ThePerson
) -> HTMLResponse:
    """Show an event as it stands, with the form that corrects it."""
    asked = _find(means, person, event_id)
    return _nothing(request) if asked is None else _show(request, means, asked, {}, None)


@router.post("/{event_id}")
@needs(*EVERY_ROLE)
async def post_correction(
    request: Request, event_id: UUID, means: TheMeans, person: ThePerson
) -> Response:
    """Correct an event, or take it out; a refusal is shown above the form, with its reasons."""
    asked = await to_thread.run_sync(_find, means, person, event_id)
    if asked is None:
        return await to_thread.run_sync(_nothing, request)
    form = await request.form()
    said = {name: one for name, one in form.multi_items() if isinstance(one, str)}
    changes: dict[str, Any] = {}
    if said.get("withdrawn:bool") != "yes":
        changes = read_changes(asked.standing.event, asked.zone, said)
    fixed = {"corrects": str(event_id), "changes": changes, "depot": asked.depot}
    decided = await decide(request, means, person, {"correction"}, **fixed)
    if decided.goes_on:
        return go_on(decided, f"/units/{asked.standing.view.unit_id}")
    return await to_thread.run_sync(_show, request, means, asked, said, decided)


def may_correct(person: Person, kind: str, depot: str | None) -> bool:
    """Say whether somebody's roles at a depot let them correct an event of a kind."""
    return not person.roles_at(depot or "").isdisjoint(correctors_of(kind))


def _find(means: WebMeans, person: Person, event_id: UUID) -> _Asked | None:
    """Return the event; raises `NotAllowedError` when it is for others to correct."""
    standing = find_standing(means.context, sight.sight_of(person), event_id)
    if standing is None:
        return None
    kind, places = standing.row["kind"], (standing.row["depot"], standing.view.record["depot"])
    depot = next((one for one in places if may_correct(person, kind, one)), None)
    if depot is None:
        takes = " or ".join(f"the role {role}" for role in sorted(correctors_of(kind)))
        raise NotAllowedError(f"{takes} at {standing.row['depot']}")
    return _Asked(standing, depot, listings.zone_of(means.context, depot))


def _nothing(request: Request) -> HTMLResponse:
    return render(request, "unit/no_correction.html", status=404)


def _show(
    request: Request,
    means: WebMeans,
    asked: _Asked,
    said: dict[str, str],
    decided: Decided | None,
) -> HTMLResponse:
    view, row = asked.standing.view, asked.standing.row
    name = view.record["mark"] or view.record["tag"] or str(view.unit_id)
    return render(
        request,
        "unit/correction.html",
        status=200 if decided is None else decided.status,
        name=name,
        unit_id=view.unit_id,
        row=row,
        event=asked.standing.event,
        groups=groups_for(asked.standing.event, asked.zone),
        said=said,
        decided=decided,
        zone=listings.zone_names(means.context).get(asked.depot, "UTC"),
        form_id=new_id(),
    )
