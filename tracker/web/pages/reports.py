"""What else is told of a unit: plate, approval, examination, survey, complaint, disposal."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any, Final

from anyio import to_thread
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from shared.ids import new_id
from tracker.services import listings, sight
from tracker.services.actor import Person, Role
from tracker.services.unit_view import UnitView
from tracker.web.access import NotAllowedError, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.one_unit import UnitName, naming
from tracker.web.pages.page import render
from tracker.web.pages.report_form import hand_in_form, read_form

router = APIRouter(prefix="/reports", include_in_schema=False)

ROLES: Final = (Role.SALES, Role.WORKSHOP, Role.MANAGER)
_KINDS: Final = ("plate-change", "examination", "survey", "complaint")
_ENDS: Final = ("disposal",)
"""What a manager reports: it ends a unit's life here."""
_FORMS: Final = ("approval", "plate", *_KINDS[1:], *_ENDS)


def may_report(person: Person, unit: dict[str, Any]) -> bool:
    """Say whether somebody's roles where the unit is, or was last, let them report of it here."""
    roles = person.roles_at(unit["depot"] or "")
    return unit["presence"] != "disposed" and not roles.isdisjoint(ROLES)


@router.get("")
@needs(*ROLES)
def get_reports(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName
) -> HTMLResponse:
    """Show the forms, one for each kind."""
    view = _find(means, person, unit)
    return render(
        request,
        "unit/reports.html",
        unit=view.record,
        name=view.record["mark"] or view.record["tag"] or str(view.unit_id),
        unit_id=view.unit_id,
        may_end=_ends(person, view) != (),
        today=_today(means, view).isoformat(),
        form_ids={form: new_id() for form in _FORMS},
    )


@router.post("")
@needs(*ROLES)
async def post_report(
    request: Request, means: TheMeans, person: ThePerson, unit: UnitName
) -> HTMLResponse:
    """Take in what one of the forms reports, its photos first."""
    view = await to_thread.run_sync(_find, means, person, unit)
    filled = await read_form(request, means, person, (*_KINDS, *_ends(person, view)))
    record, event = view.record, filled.event
    event["depot"] = record["depot"] or ""
    event |= naming(record)
    await to_thread.run_sync(_place_day, means, view, event)
    return await hand_in_form(request, means, person, filled, back=f"/units/{view.unit_id}")


def _find(means: WebMeans, person: Person, name: str) -> UnitView:
    """Return the unit; raises `NotAllowedError` where others report of it."""
    view = sight.show(means.context, sight.sight_of(person), name)
    if not may_report(person, view.record):
        takes = " or ".join(f"the role {role}" for role in ROLES)
        raise NotAllowedError(
            f"{takes} at {view.record['depot']}, and a unit that is not disposed of"
        )
    return view


def _ends(person: Person, view: UnitView) -> tuple[str, ...]:
    roles = person.roles_at(view.record["depot"] or "")
    return _ENDS if Role.MANAGER in roles else ()


def _today(means: WebMeans, view: UnitView) -> date:
    zone = listings.zone_of(means.context, view.record["depot"] or "")
    return means.context.clock.now().astimezone(zone).date()


def _place_day(means: WebMeans, view: UnitView, event: dict[str, Any]) -> None:
    """Let a day mean its noon at the depot; today means now."""
    try:
        day = date.fromisoformat(str(event.get("happened_at", "")))
    except ValueError:
        return
    if day == _today(means, view):
        event.pop("happened_at")
        return
    zone = listings.zone_of(means.context, view.record["depot"] or "")
    event["happened_at"] = datetime.combine(day, time(12), zone).isoformat()
