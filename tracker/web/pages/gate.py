"""The gate: what came in, whether it may leave, and what left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Final, Literal, NamedTuple
from urllib.parse import urlencode

from anyio import to_thread
from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from schemas.events.gate import Purpose
from schemas.events.hold import HoldKind
from schemas.verdicts import FieldFault
from shared import cautions
from shared.ids import new_id
from tracker.services import day_lists, listings, sight
from tracker.services.actor import Person, Role
from tracker.services.may_leave import Leave
from tracker.services.unit_view import UnitUnknownError, UnitView
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.arriving import (
    ALL_SURE,
    comes_back_for,
    how_long_ago,
    is_here_already,
    why_it_comes,
)
from tracker.web.pages.form_fields import TAG_SIGN
from tracker.web.pages.naming import (
    address_of,
    ask_which,
    find_coming,
    find_meant,
    typed_name,
    which_is_meant,
)
from tracker.web.pages.own_depot import choose_depot
from tracker.web.pages.page import render
from tracker.web.pages.report_form import (
    Filled,
    ask_again,
    hand_in_form,
    is_known,
    read_form,
)
from tracker.web.pages.words import words

PREFIX: Final = "/gate"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

ROLES: Final = (Role.GATE, Role.MANAGER)
_LEAVES_FOR: Final = tuple(
    one for one in Purpose if one not in (Purpose.PURCHASE, Purpose.TAKE_BACK)
)

_WHERE_TO: Final = FieldFault(
    field="to_depot", says="A transfer goes to one of our depots. Say to which."
)
_OF_CLEARANCE: Final = ("depot", "mark", "reference", "haulier")

Asked = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]*$")]
Haulier = Annotated[str, Query(max_length=200, pattern=r"^[^\x00]*$")]


class Driver(NamedTuple):
    """What stands at the barrier: the box, and what its driver names."""

    mark: str
    reference: str
    haulier: str


def read_driver(mark: Asked = "", reference: Asked = "", haulier: Haulier = "") -> Driver:
    """Return what a page is asked about."""
    return Driver(mark.strip(), reference.strip(), haulier.strip())


TheDriver = Annotated[Driver, Depends(read_driver)]


class Danger(NamedTuple):
    """What a hold for safety says at the barrier."""

    word: str
    caution: str


_DANGERS: Final = {
    HoldKind.DO_NOT_LIFT.value: Danger("Do not lift it", cautions.LIFTING),
    HoldKind.DO_NOT_STACK.value: Danger(
        "Stack nothing on it, and it on nothing", cautions.STACKING
    ),
    HoldKind.DO_NOT_ENTER.value: Danger("Leave it shut, and nobody goes in", cautions.ENTERING),
}


@router.get("")
@needs(*ROLES)
def get_arrival(
    request: Request, means: TheMeans, person: ThePerson, depot: Asked = "", mark: Asked = ""
) -> HTMLResponse:
    """Show the form of an arrival, with the units expected."""
    at = choose_depot(request, means, person, ROLES, depot or None)
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
@needs(*ROLES)
async def post_arrival(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in an arrival from a page without script.

    Whoever comes back to the form by the browser's way back and sends it again is asked whether the
    unit came twice; and of one that was here and left, why it comes.
    """
    filled = await read_form(request, means, person, ("gate-in",))
    if not filled.is_sure() and not await to_thread.run_sync(is_known, means, person, filled):
        asks = await to_thread.run_sync(_ask_first, request, means, person, filled)
        if asks is not None:
            return asks
    return await hand_in_form(request, means, person, filled, back=PREFIX)


def _ask_first(
    request: Request, means: WebMeans, person: Person, filled: Filled
) -> HTMLResponse | None:
    """Return what is to be asked about an arrival before it is recorded; None where nothing is."""
    said = filled.event
    mark, depot = str(said.get("mark", "")), str(said.get("depot", ""))
    if not filled.is_sure("mark") and (coming := find_coming(means, person, mark)):
        which, named = which_is_meant(mark, coming)
        return ask_again(request, filled, [which], {"mark": named}, sure="mark")
    try:
        record = sight.show(means.context, sight.sight_of(person), mark).record
    except UnitUnknownError:
        return None
    if is_here_already(record, depot):
        ago = how_long_ago(record["arrived_at"], means.context.clock.now())
        shown = {"mark": record["mark"] or mark, "slot": record["slot"], "ago": ago}
        return render(request, "gate/again.html", status=409, kept=filled.sent, **shown)
    if record["presence"] == "away" and said.get("purpose") == Purpose.PURCHASE:
        likely = comes_back_for(record)
        first = [] if likely is None else [likely]
        purposes = [*first, *(one for one in Purpose if one not in first)]
        choices = [(one.value, words(one.value).capitalize()) for one in purposes]
        asked = replace(filled, typed=tuple(_without_purpose(filled, likely)))
        fault = why_it_comes(record)
        return ask_again(request, asked, [fault], {"purpose": choices}, sure=ALL_SURE)
    return None


def _without_purpose(filled: Filled, likely: Purpose | None) -> Iterator[tuple[str, str]]:
    """Give the fields with the likely purpose in place of the one that nobody chose."""
    for name, value in filled.typed:
        yield name, (likely or "") if name == "purpose" else value


@router.get("/departure")
@needs(*ROLES)
def get_departure(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    driver: TheDriver,
    depot: Asked = "",
) -> HTMLResponse:
    """Ask which unit leaves, or say whether it may and what stands against it."""
    at = choose_depot(request, means, person, ROLES, depot or None)
    view, leave = _look(means, person, at.code, driver)
    likely = [] if view else find_meant(means, person, at.code, driver.mark)
    is_found = len(likely) == 1
    if is_found:
        view, leave = _look(means, person, at.code, driver._replace(mark=likely[0].name))
    is_manager = Role.MANAGER in person.roles_at(at.code)
    page = render(
        request,
        "gate/departure.html",
        at=at,
        mark=typed_name(view.record) if view else driver.mark,
        typed=driver.mark if is_found else "",
        reference=driver.reference,
        haulier=driver.haulier,
        likely=[] if view else likely,
        leave=leave,
        answer=_answer(view, leave, driver),
        may_override=is_manager and leave is not None and leave.may_be_let_pass,
        dangers=_dangers(view),
        view=view,
        form_id=new_id(),
        clearance_form_id=new_id(),
        purposes=list(_LEAVES_FOR),
        depots=_other_depots(means, at.code),
    )
    at.remember(page)
    return page


@router.post("/departure")
@needs(*ROLES)
async def post_departure(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Take in a departure, or the barrier's question whether it may pass."""
    filled = await read_form(request, means, person, ("gate-out", "clearance"))
    asks = await to_thread.run_sync(ask_which, request, means, person, filled)
    if asks is not None:
        return asks
    back = f"{PREFIX}/departure"
    others = await to_thread.run_sync(_other_depots, means, str(filled.event.get("depot")))
    if others and filled.event.get("purpose") == Purpose.TRANSFER and not _goes_to(filled):
        return ask_again(request, filled, [_WHERE_TO], {"to_depot": others})
    if filled.event["kind"] == "clearance":
        said = {name: str(filled.event.get(name, "")) for name in _OF_CLEARANCE}
        said["mark"] = said["mark"] or f"{TAG_SIGN}{filled.event.get('tag', '')}"
        back += f"?{urlencode(said)}"
    return await hand_in_form(request, means, person, filled, back=back)


def _goes_to(filled: Filled) -> str | None:
    said = filled.event.get("to_depot")
    return said if isinstance(said, str) else None


def _other_depots(means: WebMeans, depot: str) -> list[tuple[str, str]]:
    """Return the house's other depots, code and name; they are no secret to whoever sends there."""
    return [
        (one["code"], one["name"]) for one in listings.depots(means.context) if one["code"] != depot
    ]


Answer = Literal["cleared", "yes", "ask", "no"]
"""The barrier's answer; `ask`: it is released, and the driver has named no reference yet."""


def _answer(view: UnitView | None, leave: Leave | None, driver: Driver) -> Answer | None:
    if leave is None or view is None:
        return None
    if not leave.is_given:
        return "no"
    if leave.is_cleared:
        return "cleared"
    return "yes" if driver.reference else "ask"


def _dangers(view: UnitView | None) -> list[Danger]:
    """Return what each hold for safety on the unit forbids, with its caution."""
    held = [] if view is None else [hold["hold"] for hold in view.record["holds"]]
    return [_DANGERS[hold] for hold in dict.fromkeys(held) if hold in _DANGERS]


def _look(
    means: TheMeans, person: ThePerson, depot: str, driver: Driver
) -> tuple[UnitView | None, Leave | None]:
    """Return the unit and whether it may leave; neither when none is asked for, or known here."""
    if not driver.mark:
        return None, None
    seen = sight.sight_of(person)
    named = {"reference": driver.reference or None, "haulier": driver.haulier or None}
    try:
        name = address_of(depot, driver.mark)
        view = sight.show(means.context, seen, name)
        leave = sight.may_leave(means.context, seen, name, **named)
    except UnitUnknownError:
        return None, None
    return view, leave
