"""The workshop: today's work by unit, what is done about it, and inspections."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Final

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from schemas.events.condition import Condition, Urgency
from schemas.events.deal import IntendedUse
from shared import cautions
from shared.damage import Component, DamageKind, words_for
from shared.ids import new_id
from tracker.services import catalogue, day_lists, inspect, listings, sight
from tracker.services.actor import Person, Role
from tracker.services.standing import standing_events
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.holds import hold_values
from tracker.web.pages.own_depot import choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.report_form import Filled, answer_form, hand_in_form, read_form
from tracker.web.pages.work_cards import card_of, notes_of, rooms_of, weighed_far

PREFIX: Final = "/workshop"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

ROLES: Final = (Role.WORKSHOP, Role.MANAGER)
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
    request: Request, means: TheMeans, person: ThePerson, name: Asked, depot: Asked = ""
) -> HTMLResponse:
    """Show one unit: what to fit and to mend, the tare to paint, the marks to take off."""
    return _show_work(request, means, person, name, depot)


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


def _show_work(
    request: Request,
    means: WebMeans,
    person: Person,
    name: str,
    depot: str,
    unticked: Filled | None = None,
) -> HTMLResponse:
    """Show one unit; `unticked` is a repair that was sent without saying of what."""
    at = choose_depot(request, means, person, ROLES, depot or None)
    day = day_lists.day_at(means.context, at.code)
    view = sight.show(means.context, sight.sight_of(person), name)
    items = {item.name: item for item in catalogue.list_work(means.context)}
    return render(
        request,
        "workshop/unit.html",
        status=422 if unticked else 200,
        at=at,
        unit=view.record,
        card=card_of(view.record, items, day, notes_of(view.history)),
        items=list(items.values()),
        form_ids={form: new_id() for form in _FORMS},
        height=cautions.HEIGHT,
        unticked=unticked,
        weighed_far=weighed_far(
            row for row in view.history if row["id"] in standing_events(view.history)
        ),
        zone=listings.zone_names(means.context).get(at.code, "UTC"),
        **hold_values(person, view.record),
    )


@router.get("/inspection")
@needs(*ROLES, Role.GATE)
def get_inspection(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    name: Asked,
    depot: Asked = "",
    use: IntendedUse = IntendedUse.STORAGE,
) -> HTMLResponse:
    """Show the checklist of one unit, what comes before going in first."""
    at = choose_depot(request, means, person, (*ROLES, Role.GATE), depot or None)
    view = sight.show(means.context, sight.sight_of(person), name)
    checklist = inspect.checklist(means.context, str(view.unit_id), use)
    return render(
        request,
        "workshop/inspection.html",
        at=at,
        unit=view.record,
        rooms=rooms_of(checklist["items"]),
        use=use,
        uses=list(IntendedUse),
        form_id=new_id(),
        conditions=list(Condition),
        urgencies=list(Urgency),
        components=[(one.value, words_for(one)) for one in Component],
        kinds=[(one.value, words_for(one)) for one in DamageKind],
    )


@router.post("/inspection")
@needs(*ROLES, Role.GATE)
async def post_inspection(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in an inspection from a page without script."""
    return await answer_form(request, means, person, ("inspection",), back=PREFIX)
