"""The gate: what came in, whether it may leave, and what left."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from schemas.events.gate import Purpose
from schemas.findings import Severity
from shared.ids import new_id
from tracker.judge.sale import USED_UP
from tracker.services import day_lists, sight
from tracker.services.actor import Role
from tracker.services.may_leave import Leave
from tracker.services.unit_view import UnitUnknownError, UnitView
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans
from tracker.web.pages.own_depot import choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.report_form import answer_form

PREFIX: Final = "/gate"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

_ROLES: Final = (Role.GATE, Role.MANAGER)
_LEAVES_FOR: Final = tuple(
    one for one in Purpose if one not in (Purpose.PURCHASE, Purpose.TAKE_BACK)
)

Asked = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]*$")]


@router.get("")
@needs(*_ROLES)
def get_arrival(
    request: Request, means: TheMeans, person: ThePerson, depot: Asked = "", mark: Asked = ""
) -> HTMLResponse:
    """Show the form of an arrival, with the units expected."""
    at = choose_depot(request, means, person, _ROLES, depot or None)
    page = render(
        request,
        "gate/arrival.html",
        at=at,
        expected=day_lists.list_expected(means.context, at.code),
        form_id=new_id(),
        mark=mark,
        purposes=list(Purpose),
    )
    at.remember(page)
    return page


@router.post("/arrival")
@needs(*_ROLES)
async def post_arrival(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in an arrival from a page without script."""
    return await answer_form(request, means, person, ("gate-in",), back=PREFIX)


@router.get("/departure")
@needs(*_ROLES)
def get_departure(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    depot: Asked = "",
    mark: Asked = "",
    reference: Asked = "",
) -> HTMLResponse:
    """Ask which unit leaves, or say whether it may and what stands against it."""
    at = choose_depot(request, means, person, _ROLES, depot or None)
    view, leave = _look(means, person, mark.strip(), reference.strip())
    page = render(
        request,
        "gate/departure.html",
        at=at,
        mark=mark.strip(),
        reference=reference.strip(),
        leave=leave,
        is_cleared=_is_cleared(view, leave),
        view=view,
        form_id=new_id(),
        clearance_form_id=new_id(),
        purposes=list(_LEAVES_FOR),
        depots=[one for one in at.choices if one["code"] != at.code],
    )
    at.remember(page)
    return page


@router.post("/departure")
@needs(*_ROLES)
async def post_departure(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in a departure, or the barrier's question whether it may pass."""
    back = f"{PREFIX}/departure"
    return await answer_form(request, means, person, ("gate-out", "clearance"), back=back)


def _is_cleared(view: UnitView | None, leave: Leave | None) -> bool:
    """Say whether the barrier has let the unit pass, and nothing else stands against it."""
    if view is None or leave is None or not (view.record["release"] or {}).get("cleared"):
        return False
    stops = {one.id for one in leave.findings if one.severity is Severity.REFUSE}
    return stops <= {USED_UP.id}


def _look(
    means: TheMeans, person: ThePerson, mark: str, reference: str
) -> tuple[UnitView | None, Leave | None]:
    """Return the unit and whether it may leave; neither when none is asked for, or known here."""
    if not mark:
        return None, None
    seen = sight.sight_of(person)
    try:
        view = sight.show(means.context, seen, mark)
        leave = sight.may_leave(means.context, seen, mark, reference=reference or None)
    except UnitUnknownError:
        return None, None
    return view, leave
