"""The workshop: today's work by unit, what is done about it, and inspections."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from schemas.events.condition import Condition, Urgency
from schemas.events.deal import IntendedUse
from shared.damage import Component, DamageKind, words_for
from shared.ids import new_id
from tracker.services import catalogue, day_lists, inspect, sight
from tracker.services.actor import Role
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans
from tracker.web.pages.own_depot import choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.report_form import answer_form
from tracker.web.pages.work_cards import card_of, notes_of, rooms_of

PREFIX: Final = "/workshop"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

_ROLES: Final = (Role.WORKSHOP, Role.MANAGER)
_REPORTS: Final = ("modification", "repair", "marking")
_FORMS: Final = ("order", "other", "repair", "paint", "labels", "weigh")

Asked = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]*$")]


@router.get("")
@needs(*_ROLES)
def get_workshop(
    request: Request, means: TheMeans, person: ThePerson, depot: Asked = ""
) -> HTMLResponse:
    """Show what there is to do, by unit, the most pressing first."""
    at = choose_depot(request, means, person, _ROLES, depot or None)
    day = day_lists.list_with_work(means.context, at.code)
    items = {item.name: item for item in catalogue.list_work(means.context)}
    cards = [card_of(unit, items, day.today) for unit in day.units]
    page = render(request, "workshop/day.html", at=at, cards=cards, day=day)
    at.remember(page)
    return page


@router.get("/unit")
@needs(*_ROLES)
def get_work(
    request: Request, means: TheMeans, person: ThePerson, name: Asked, depot: Asked = ""
) -> HTMLResponse:
    """Show one unit: what to fit and to mend, and the tare to paint."""
    at = choose_depot(request, means, person, _ROLES, depot or None)
    day = day_lists.day_at(means.context, at.code)
    view = sight.show(means.context, sight.sight_of(person), name)
    items = {item.name: item for item in catalogue.list_work(means.context)}
    return render(
        request,
        "workshop/unit.html",
        at=at,
        unit=view.record,
        card=card_of(view.record, items, day, notes_of(view.history)),
        items=list(items.values()),
        form_ids={
            form: new_id() for form in ("order", "other", "repair", "paint", "labels", "weigh")
        },
    )


@router.post("/unit")
@needs(*_ROLES)
async def post_work(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in work that was done, from a page without script."""
    return await answer_form(request, means, person, _REPORTS, back=PREFIX)


@router.get("/inspection")
@needs(*_ROLES, Role.GATE)
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
    at = choose_depot(request, means, person, (*_ROLES, Role.GATE), depot or None)
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
@needs(*_ROLES, Role.GATE)
async def post_inspection(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in an inspection from a page without script."""
    return await answer_form(request, means, person, ("inspection",), back=PREFIX)
