"""What falls due, the soonest first, and the forms that answer it: seen to, or put off."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date
from enum import StrEnum
from functools import partial
from typing import Annotated, Any, Final
from urllib.parse import urlencode
from uuid import UUID
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from shared.errors import HardstandError
from tracker.services import alerts_desk, listings, sight
from tracker.services.actor import Person
from tracker.services.alerts_desk import (
    AlertName,
    AlertNotYoursError,
    AlertUnknownError,
    PutOffError,
)
from tracker.store.alerts import AlertFilter, AlertKey
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.claims import may_claim
from tracker.web.pages.page import render
from tracker.web.pages.sign_in import own_path
from tracker.web.pages.stock import seen_depots
from tracker.web.request_errors import BadRequestError

router = APIRouter(include_in_schema=False)

PAGE_SIZE: Final = 50
_PARTS: Final = 4

_Text = Annotated[str, Query(max_length=300, pattern=r"^[^\x00]*$")]
_Typed = Annotated[str, Form(max_length=800, pattern=r"^[^\x00]*$")]


class Shown(StrEnum):
    """Which alerts are listed: those for one's own roles, all that are open, those answered."""

    MINE = "mine"
    ALL = "all"
    ANSWERED = "answered"


class AlertKeyError(BadRequestError):
    """A text is no place among the alerts."""

    def __init__(self) -> None:
        super().__init__("This is no place among the alerts", remedy="Begin at the first page")


class AnswerUnreadError(HardstandError):
    """An answer says too little, or a day that is none."""


_FAULTS: Final = (AnswerUnreadError, AlertNotYoursError, AlertUnknownError, PutOffError)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the page is asked for, and what was typed into a form of it that could not be taken."""

    show: Shown
    depot: str = ""
    after: AlertKey | None = None
    fault: HardstandError | None = None
    said: dict[str, str] = field(default_factory=dict)


@router.get("/alerts")
@needs(*EVERY_ROLE)
def get_alerts(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    show: Shown = Shown.MINE,
    depot: _Text = "",
    after: _Text = "",
) -> HTMLResponse:
    """Show a page of the open alerts: one's own first."""
    return _show(request, means, person, _Asked(show, depot, _read_key(after)))


@router.post("/alerts/answer")
@needs(*EVERY_ROLE)
def post_answer(  # noqa: PLR0913 - one argument per field of the form
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    unit: _Typed,
    kind: _Typed,
    cause: _Typed,
    reason: _Typed = "",
    until: _Typed = "",
    back: _Typed = "/alerts",
) -> Response:
    """Answer an alert; what cannot be taken is told beside the form, with what was typed."""
    name = AlertName(unit, kind, cause)
    try:
        _answer(means, person, name, reason.strip(), until.strip())
    except _FAULTS as fault:
        said = {"unit": unit, "kind": kind, "cause": cause, "reason": reason, "until": until}
        return _show(request, means, person, _Asked(Shown.ALL, fault=fault, said=said))
    return RedirectResponse(own_path(back), status_code=303)


def _answer(means: WebMeans, person: Person, name: AlertName, reason: str, until: str) -> None:
    if not reason:
        raise AnswerUnreadError("It is not said what is done about it", expected="a few words")
    if not until:
        alerts_desk.acknowledge(
            means.context, name, by=person.shown_as, reason=reason, actor=person
        )
        return
    try:
        day = date.fromisoformat(until)
    except ValueError:
        raise AnswerUnreadError(f"{until!r} is no day", expected="2026-03-02") from None
    alerts_desk.put_off(
        means.context, name, until=day, by=person.shown_as, reason=reason, actor=person
    )


def _show(request: Request, means: WebMeans, person: Person, asked: _Asked) -> HTMLResponse:
    seen = sight.sight_of(person)
    found = sight.list_alerts(
        means.context,
        seen,
        AlertFilter(
            depot=asked.depot or None,
            whose=person.pairs if asked.show is Shown.MINE else None,
            answered=asked.show is Shown.ANSWERED,
        ),
        after=asked.after,
        size=PAGE_SIZE,
    )
    last = found[-1] if len(found) == PAGE_SIZE else None
    query = {"show": asked.show.value, "depot": asked.depot}
    zones = listings.zone_names(means.context)
    now = means.context.clock.now()
    return render(
        request,
        "alerts.html",
        status=_status(asked.fault),
        alerts=[
            alert
            | {
                "mine": alerts_desk.may_answer(person, alert["depot"], alert["role"]),
                "is_late": alert["due_on"] < now.astimezone(_zone(zones, alert["depot"])).date(),
            }
            for alert in found
        ],
        next_page=f"/alerts?{urlencode(query | {'after': _key_of(last)})}" if last else None,
        here=f"/alerts?{urlencode(query)}",
        show=asked.show.value,
        depot=asked.depot,
        depots=seen_depots(means, seen),
        zones=zones,
        may_claim=partial(may_claim, person),
        fault=asked.fault,
        said=asked.said,
    )


def _zone(zones: dict[str, str], depot: str) -> Any:  # noqa: ANN401 - either kind of zone
    return ZoneInfo(zones[depot]) if depot in zones else UTC


def _status(fault: HardstandError | None) -> int:
    match fault:
        case None:
            return 200
        case AlertNotYoursError():
            return 403
        case AlertUnknownError():
            return 404
        case _:
            return 422


def _key_of(alert: dict[str, Any]) -> str:
    return f"{alert['due_on']}~{alert['unit_id']}~{alert['kind']}~{alert['cause']}"


def _read_key(text: str) -> AlertKey | None:
    if not text:
        return None
    parts = text.split("~", _PARTS - 1)
    try:
        due_on, unit_id, kind, cause = parts
        return AlertKey(date.fromisoformat(due_on), UUID(unit_id), kind, cause)
    except ValueError:
        raise AlertKeyError from None
