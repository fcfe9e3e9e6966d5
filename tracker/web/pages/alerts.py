"""What falls due, the soonest first."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Annotated, Final
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from tracker.services import sight
from tracker.store.alerts import AlertKey
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans
from tracker.web.pages.claims import may_claim
from tracker.web.pages.page import render
from tracker.web.pages.stock import seen_depots
from tracker.web.request_errors import BadRequestError

router = APIRouter(include_in_schema=False)

PAGE_SIZE: Final = 50
_PARTS: Final = 4

_Text = Annotated[str, Query(max_length=300, pattern=r"^[^\x00]*$")]


class AlertKeyError(BadRequestError):
    """A text is no place among the alerts."""

    def __init__(self) -> None:
        super().__init__("This is no place among the alerts", remedy="Begin at the first page")


@router.get("/alerts")
@needs(*EVERY_ROLE)
def get_alerts(
    request: Request, means: TheMeans, person: ThePerson, depot: _Text = "", after: _Text = ""
) -> HTMLResponse:
    """Show a page of the open alerts."""
    seen = sight.sight_of(person)
    found = sight.list_alerts(
        means.context, seen, depot=depot or None, after=_read_key(after), size=PAGE_SIZE
    )
    last = found[-1] if len(found) == PAGE_SIZE else None
    return render(
        request,
        "alerts.html",
        alerts=found,
        may_claim=partial(may_claim, person),
        today=means.context.clock.now().date(),
        next_key=f"{last['due_on']}~{last['unit_id']}~{last['kind']}~{last['cause']}"
        if last
        else None,
        depot=depot,
        depots=seen_depots(means, seen),
    )


def _read_key(text: str) -> AlertKey | None:
    if not text:
        return None
    parts = text.split("~", _PARTS - 1)
    try:
        due_on, unit_id, kind, cause = parts
        return AlertKey(date.fromisoformat(due_on), UUID(unit_id), kind, cause)
    except ValueError:
        raise AlertKeyError from None
