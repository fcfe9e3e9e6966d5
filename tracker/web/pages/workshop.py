"""The workshop: today's work by unit, what is done about it, and inspections."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Annotated, Any, Final
from urllib.parse import quote

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from schemas.events.condition import Condition, Urgency
from schemas.events.deal import IntendedUse
from shared import cautions
from shared.damage import Component, DamageKind, words_for
from shared.ids import new_id
from shared.structural_limits import Measure
from tracker.services import catalogue, day_lists, inspect, listings, sight
from tracker.services.actor import Person, Role
from tracker.services.reading import EventUnreadableError
from tracker.services.standing import standing_events
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.holds import hold_values
from tracker.web.pages.inspections import fault_in, has_grave, is_elsewhere
from tracker.web.pages.own_depot import OwnDepot, choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.refilling import refill
from tracker.web.pages.report_form import (
    Filled,
    ask_again,
    hand_in_form,
    hand_over,
    read_form,
    tell_of,
)
from tracker.web.pages.work_cards import card_of, notes_of, rooms_of, weighed_far
from tracker.web.pages.work_orders import may_order_work

PREFIX: Final = "/workshop"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

ROLES: Final = (Role.WORKSHOP, Role.MANAGER)
INSPECTORS: Final = (*ROLES, Role.GATE)
_REPORTS: Final = ("modification", "repair", "marking")
_FORMS: Final = ("order", "other", "repair", "paint", "marks", "labels", "weigh")

Asked = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]*$")]


def may_work(person: Person, unit: Mapping[str, Any]) -> bool:
    """Say whether a unit stands at a depot where somebody's roles let them report work on it."""
    is_in = unit["presence"] == "in-depot"
    return is_in and not person.roles_at(unit["depot"] or "").isdisjoint(ROLES)


@router.get("")
@needs(*ROLES)
def get_workshop(
    request: Request, means: TheMeans, person: ThePerson, depot: Asked = ""
) -> HTMLResponse:
    """Show what there is to do, by unit, the most pressing first."""
    at = choose_depot(request, means, person, ROLES, depot or None)
    day = day_lists.list_with_work(means.context, at.code)
    items = {item.name: item for item in catalogue.list_work(means.context)}
    cards = [card_of(unit, items, day.today) for unit in day.units]
    page = render(request, "workshop/day.html", at=at, cards=cards, day=day)
    at.remember(page)
    return page


@router.get("/unit")
@needs(*ROLES)
def get_work(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    name: Asked,
    depot: Asked = "",
    *,
    here: Asked = "",
) -> HTMLResponse:
    """Show one unit: what to fit and to mend, the tare to paint, the marks to take off."""
    return _show_work(request, means, person, name, depot, here=here)


@router.post("/unit")
@needs(*ROLES)
async def post_work(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in work that was done, from a page without script.

    A repair that names no damage would mend all that is open: whoever ticked none is asked again.
    """
    filled = await read_form(request, means, person, _REPORTS)
    said = filled.event
    if said["kind"] == "repair" and not (said.get("damages") or said.get("work")):
        name, depot = _name_in(said), str(said.get("depot", ""))
        return await to_thread.run_sync(_show_work, request, means, person, name, depot, filled)
    return await hand_in_form(request, means, person, filled, back=PREFIX)


def _name_in(said: dict[str, Any]) -> str:
    """Return what the unit of a report is found by."""
    name = str(said.get("mark") or f"#{said.get('depot')}/{said.get('tag')}")
    return name.replace("\0", "")


def _show_work(  # noqa: PLR0913 - what the page is made of
    request: Request,
    means: WebMeans,
    person: Person,
    name: str,
    depot: str,
    unticked: Filled | None = None,
    *,
    here: str = "",
) -> HTMLResponse:
    """Show one unit; `unticked` is a repair that was sent without saying of what."""
    view = sight.show(means.context, sight.sight_of(person), name)
    at = _place(request, means, person, ROLES, depot, view.record)
    if is_elsewhere(view.record, at.code) and not (here or unticked):
        return _ask_whether_here(request, at, view.record, f"{PREFIX}/unit")
    day = day_lists.day_at(means.context, at.code)
    items = {item.name: item for item in catalogue.list_work(means.context)}
    return render(
        request,
        "workshop/unit.html",
        status=422 if unticked else 200,
        at=at,
        unit=view.record,
        is_elsewhere=is_elsewhere(view.record, at.code),
        card=card_of(view.record, items, day, notes_of(view.history)),
        items=list(items.values()),
        form_ids={form: new_id() for form in _FORMS},
        height=cautions.HEIGHT,
        unticked=unticked,
        weighed_far=weighed_far(
            row for row in view.history if row["id"] in standing_events(view.history)
        ),
        zone=listings.zone_names(means.context).get(at.code, "UTC"),
        orders_work=may_order_work(person, view.record),
        **hold_values(person, view.record),
    )


@router.get("/inspection")
@needs(*INSPECTORS)
def get_inspection(  # noqa: PLR0913 - what may be asked, each an argument
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    name: Asked,
    depot: Asked = "",
    use: IntendedUse = IntendedUse.STORAGE,
    here: Asked = "",
) -> HTMLResponse:
    """Show the checklist of one unit, what comes before going in first."""
    return _show_inspection(request, means, person, name, depot=depot, use=use, here=here)


@router.post("/inspection")
@needs(*INSPECTORS)
async def post_inspection(
    request: Request, means: TheMeans, person: ThePerson, use: IntendedUse = IntendedUse.STORAGE
) -> Response:
    """Take in an inspection from a page without script; one with a fault comes back filled."""
    filled = await read_form(request, means, person, ("inspection",))
    if fault := fault_in(filled.event):
        name, depot = _name_in(filled.event), str(filled.event.get("depot", ""))
        return await to_thread.run_sync(
            lambda: _show_inspection(
                request, means, person, name, depot=depot, use=use, filled=filled, fault=fault
            )
        )
    try:
        handed = await hand_over(means, person, filled)
    except EventUnreadableError as unread:
        return ask_again(request, filled, unread.faults)
    if handed.receipt.state == "recorded" and has_grave(handed.receipt):
        unit = quote(_name_in(filled.event), safe="")
        return RedirectResponse(f"/units/{unit}?told={handed.receipt.id}", status_code=303)
    back = PREFIX if person.has_any(ROLES) else "/gate"
    return tell_of(request, handed, back=back)


def _show_inspection(  # noqa: PLR0913 - what the page is made of
    request: Request,
    means: WebMeans,
    person: Person,
    name: str,
    *,
    depot: str,
    use: IntendedUse,
    here: str = "yes",
    filled: Filled | None = None,
    fault: str = "",
) -> HTMLResponse:
    """Show the form of an inspection; `fault` is what keeps the one that was `filled` in back."""
    view = sight.show(means.context, sight.sight_of(person), name)
    at = _place(request, means, person, INSPECTORS, depot, view.record)
    if is_elsewhere(view.record, at.code) and not here:
        return _ask_whether_here(request, at, view.record, f"{PREFIX}/inspection", use=use)
    checklist = inspect.checklist(means.context, str(view.unit_id), use)
    page = render(
        request,
        "workshop/inspection.html",
        status=422 if fault else 200,
        at=at,
        unit=view.record,
        is_elsewhere=is_elsewhere(view.record, at.code),
        rooms=rooms_of(checklist["items"]),
        use=use,
        uses=list(IntendedUse),
        form_id=new_id(),
        conditions=list(Condition),
        urgencies=list(Urgency),
        measures=list(Measure),
        components=[(one.value, words_for(one)) for one in Component],
        kinds=[(one.value, words_for(one)) for one in DamageKind],
        works=person.has_any(ROLES),
        fault=fault,
        kept=filled.photos if filled else (),
        **hold_values(person, view.record),
    )
    if filled is None:
        return page
    body = bytes(page.body).decode()
    return HTMLResponse(refill(body, "inspection", filled.typed), status_code=422)


def _place(
    request: Request,
    means: WebMeans,
    person: Person,
    roles: Collection[Role],
    depot: str,
    unit: Mapping[str, Any],
) -> OwnDepot:
    """Return the depot asked for, else the one of theirs where the unit stands, else their own."""
    at = choose_depot(request, means, person, roles, depot or None)
    stands_at = unit["depot"] if unit["presence"] == "in-depot" else None
    is_theirs = stands_at in [one["code"] for one in at.choices]
    return replace(at, code=str(stands_at)) if not depot and is_theirs else at


def _ask_whether_here(
    request: Request, at: OwnDepot, unit: Mapping[str, Any], path: str, **more: str
) -> HTMLResponse:
    """Ask whether a unit that the record has elsewhere stands here; nothing is recorded by it."""
    return render(request, "workshop/elsewhere.html", at=at, unit=unit, path=path, more=more)
