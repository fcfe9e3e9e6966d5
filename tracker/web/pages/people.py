"""The people of the house: who may sign in, and as what. For managers, within their depots."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from shared.errors import HardstandError
from tracker.services import listings, on_duty, staff
from tracker.services.accounts import AccountError, parse_grant
from tracker.services.actor import EVERY_DEPOT, Grant, Person, Role
from tracker.services.on_duty import DutyError
from tracker.services.passwords import PasswordError
from tracker.services.staff import NotTheirsError
from tracker.web.access import ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.own_depot import likely_depot, remember
from tracker.web.pages.page import render

router = APIRouter(prefix="/people", include_in_schema=False)

_Typed = Annotated[str, Form(max_length=800)]
_Grants = Annotated[list[str], Form(max_length=200)]
_FAULTS: Final = (AccountError, DutyError, PasswordError, NotTheirsError)


@router.get("")
@needs(Role.MANAGER)
def get_people(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    done: Annotated[str, Query(max_length=40)] = "",
    name: Annotated[str, Query(max_length=100)] = "",
) -> HTMLResponse:
    """Show who may sign in, and the forms that change it."""
    return _show(request, means, person, done=_DONE.get(done, ""), whom=name)


@router.post("/add")
@needs(Role.MANAGER)
def post_add(  # noqa: PLR0913 - one argument per field of the form
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    name: _Typed = "",
    shown_as: _Typed = "",
    password: _Typed = "",
    grant: _Grants = [],  # noqa: B006 - FastAPI copies it
) -> Response:
    """Make an account."""

    def add() -> None:
        staff.add_person(
            means.context, person, name, shown_as=shown_as, password=password,
            grants=_read(grant),
        )  # fmt: skip

    return _do(request, means, person, add, "added", name, {"name": name, "shown_as": shown_as})


@router.post("/roles")
@needs(Role.MANAGER)
def post_roles(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    name: _Typed = "",
    grant: _Grants = [],  # noqa: B006 - FastAPI copies it
) -> Response:
    """Let somebody have exactly the roles that are ticked."""
    return _do(
        request, means, person,
        lambda: staff.set_grants(means.context, person, name, _read(grant)), "roles", name,
    )  # fmt: skip


@router.post("/password")
@needs(Role.MANAGER)
def post_password(
    request: Request, means: TheMeans, person: ThePerson, name: _Typed = "", password: _Typed = ""
) -> Response:
    """Give somebody a new password, which ends their sessions."""
    return _do(
        request, means, person,
        lambda: staff.set_password(means.context, person, name, password), "password", name,
    )  # fmt: skip


@router.post("/end-sessions")
@needs(Role.MANAGER)
def post_end_sessions(
    request: Request, means: TheMeans, person: ThePerson, name: _Typed = ""
) -> Response:
    """Sign somebody out everywhere."""
    return _do(
        request, means, person,
        lambda: staff.end_sessions(means.context, person, name), "ended", name,
    )  # fmt: skip


@router.post("/close")
@needs(Role.MANAGER)
def post_close(request: Request, means: TheMeans, person: ThePerson, name: _Typed = "") -> Response:
    """Take all roles from somebody and sign them out everywhere."""
    return _do(
        request, means, person, lambda: staff.close(means.context, person, name), "closed", name
    )


@router.post("/on-duty")
@needs(Role.MANAGER)
def post_on_duty(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    depot: _Typed,
    address: _Typed,
    name: _Typed = "",
) -> Response:
    """Put somebody on duty at a depot."""

    def begin() -> None:
        on_duty.check(person, depot)
        on_duty.begin(means.context, depot, address, name=name.strip(), by=person.shown_as)

    said = {"duty_depot": depot, "duty_address": address, "duty_name": name}
    answer = _do(request, means, person, begin, "on-duty", "", said)
    remember(answer, depot)
    return answer


@router.post("/off-duty")
@needs(Role.MANAGER)
def post_off_duty(
    request: Request, means: TheMeans, person: ThePerson, depot: _Typed, address: _Typed
) -> Response:
    """Take somebody off duty."""

    def end() -> None:
        on_duty.check(person, depot)
        on_duty.end(means.context, depot, address)

    return _do(request, means, person, end, "off-duty", "")


_DONE: Final = {
    "on-duty": "They are on duty, and told at once of breaches and new questions.",
    "off-duty": "They are off duty.",
    "added": "The account is made. Tell them the password in person.",
    "roles": "The roles are changed, from their next tap on.",
    "password": "The password is new, and they are signed out everywhere.",
    "ended": "They are signed out everywhere.",
    "closed": "The account is closed, and they are signed out everywhere.",
}


def _do(  # noqa: PLR0913 - what the page shows afterwards either way
    request: Request,
    means: WebMeans,
    person: Person,
    change: Callable[[], object],
    done: str,
    name: str,
    said: dict[str, str] | None = None,
) -> Response:
    try:
        change()
    except _FAULTS as fault:
        status = 403 if isinstance(fault, NotTheirsError) else 422
        return _show(request, means, person, status=status, fault=fault, whom=name, said=said)
    return RedirectResponse(f"/people?done={done}", status_code=303)


def _show(  # noqa: PLR0913 - what the page may tell
    request: Request,
    means: WebMeans,
    person: Person,
    *,
    status: int = 200,
    fault: HardstandError | None = None,
    done: str = "",
    whom: str = "",
    said: dict[str, str] | None = None,
) -> HTMLResponse:
    codes = [EVERY_DEPOT, *(one["code"] for one in listings.depots(means.context))]
    offered = [code for code in codes if staff.manages(person, code)]
    everybody = staff.list_people(means.context, person)
    return render(
        request,
        "people.html",
        status=status,
        fault=fault,
        done=done,
        whom=whom,
        said=said or {},
        everybody=[
            {
                "person": one,
                "may_change": staff.may_change(person, one),
                "is_me": one.id == person.id,
            }
            for one in everybody
        ],
        depots=offered,
        duty_depots=sorted(offered, key=lambda code: code == EVERY_DEPOT),
        likely=likely_depot(request, offered),
        duties=[
            duty | {"may_end": staff.manages(person, duty["depot"])}
            for duty in on_duty.list_for(means.context, person)
        ],
        addresses=_addresses(means, person),
        zones=listings.zone_names(means.context),
        roles=list(Role),
    )


def _addresses(means: WebMeans, manager: Person) -> list[dict[str, Any]]:
    """Return the addresses that get mail of the manager's depots, to choose from."""
    known = {
        one["address"]: one
        for one in listings.contacts(means.context)
        if staff.manages(manager, one["depot"])
    }
    return sorted(known.values(), key=lambda one: str(one["address"]))


def _read(texts: list[str]) -> list[Grant]:
    return [parse_grant(text) for text in texts]
