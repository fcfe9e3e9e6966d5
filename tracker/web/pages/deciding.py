"""Ask for a decision by a page's form, and hear the verdict right away."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, time, tzinfo
from typing import Any, Final
from urllib.parse import parse_qsl, urlencode, urlsplit
from uuid import UUID

import orjson
from anyio import to_thread
from fastapi import Request
from fastapi.responses import RedirectResponse

from schemas.verdicts import FieldFault, Receipt
from tracker.services import listings, reading, report
from tracker.services.actor import Person
from tracker.services.reading import EventUnreadableError
from tracker.services.report import EventUnknownError
from tracker.web.csrf import FIELD
from tracker.web.means import WebMeans
from tracker.web.pages.form_fields import doubtful_amounts, read_fields
from tracker.web.pages.handing_in import hand_in, sign
from tracker.web.pages.sign_in import own_path
from tracker.web.request_errors import BadRequestError

_MOMENTS: Final = ("until", "expires_at", "at")
_OURS: Final = (FIELD, "form", "back", "was")
"""What a form says to us and not of the decision; `was` stands before a name of its own."""


class AmountDoubtfulError(BadRequestError):
    """An amount of a form can be read in two ways; carries what is asked about each."""

    def __init__(self, faults: Sequence[FieldFault]) -> None:
        self.faults = faults
        said = "; ".join(f"{one.field}: {one.says}" for one in faults)
        super().__init__(said.rstrip("."))


@dataclass(frozen=True, slots=True)
class Decided:
    """What was asked for, and what became of it."""

    event: dict[str, Any]
    receipt: Receipt | None
    fault: EventUnreadableError | AmountDoubtfulError | None = None
    """Why it was not handed in: the form was not filled in so that it can be read."""

    @property
    def status(self) -> int:
        """Return the status of the page that shows it."""
        if self.fault is not None:
            return 422
        return 403 if self.receipt is not None and self.receipt.state == "rejected" else 409

    @property
    def goes_on(self) -> bool:
        """Say whether it was recorded, or waits: there is nothing to mend in the form."""
        return self.receipt is not None and self.receipt.state in ("recorded", "waiting")


async def decide(
    request: Request,
    means: WebMeans,
    person: Person,
    kinds: Collection[str],
    **said: Any,  # noqa: ANN401 - fields
) -> Decided:
    """Hand in the decision of a request's form, and wait some seconds for its verdict.

    Args:
        request: Its form is read here; moments in it without a zone are the depot's.
        means: The process's means.
        person: Who asks.
        kinds: The kinds of event that the form may hand in.
        said: Fields that stand whatever the form says.
    """
    form = await request.form()
    fields = [(name, one) for name, one in form.multi_items() if isinstance(one, str)]
    typed = [(name, one) for name, one in fields if name.partition(".")[0] not in (*_OURS, *said)]
    currency = means.context.settings.currency
    event = read_fields(typed, currency)
    event |= said
    # A list, since what a form says may be anything, and not all of that can be looked up in a set.
    if event.get("kind") not in list(kinds):
        event["kind"] = sorted(kinds)[0]
    await to_thread.run_sync(_place_moments, means, event)
    # A decision counts from when it is asked for, whatever a form may say.
    event.pop("happened_at", None)
    sign(means, person, event, form.get("form"))
    if doubtful := doubtful_amounts(typed, currency):
        return Decided(event, None, AmountDoubtfulError(doubtful))
    body = orjson.dumps(event)
    try:
        reading.read_event(body)
    except EventUnreadableError as fault:
        return Decided(event, None, fault)
    return Decided(event, await hand_in(means, person, body))


async def find_told(means: WebMeans, person: Person, told: UUID | None) -> Receipt | None:
    """Return what became of an event that a page was sent back with; None where none was."""
    if told is None:
        return None
    try:
        return await to_thread.run_sync(report.find_receipt, means.context, person, told)
    except EventUnknownError:
        return None


def go_on(decided: Decided, path: str) -> RedirectResponse:
    """Send the browser to a page of ours that tells of what was recorded."""
    parts = urlsplit(own_path(path))
    query = [(name, value) for name, value in parse_qsl(parts.query) if name != "told"]
    query.append(("told", str(decided.event["id"])))
    return RedirectResponse(f"{parts.path}?{urlencode(query)}", status_code=303)


def work_typed(decided: Decided) -> dict[str, Any]:
    """Return how many pieces of each work were asked for in a form that comes back."""
    return {
        line["work"]: line.get("count")
        for line in _lines(decided)
        if isinstance(line.get("work"), str)
    }


def as_typed(decided: Decided) -> dict[str, Any]:
    """Return what was typed, so that nobody types it twice."""
    typed = {
        name: str(value)[:16] if name in ("until", "expires_at") else value
        for name, value in decided.event.items()
    }
    return typed | {"lines": _lines(decided)}


def _lines(decided: Decided) -> list[dict[str, Any]]:
    """Return the lines of a form; a form that gives them another shape has none."""
    lines = decided.event.get("lines")
    return [one for one in lines if isinstance(one, dict)] if isinstance(lines, list) else []


def _place_moments(means: WebMeans, event: dict[str, Any]) -> None:
    """Give moments without a zone that of the depot; a day is meant to its end."""
    zone: tzinfo | None = None
    for name in _MOMENTS:
        try:
            moment = datetime.fromisoformat(str(event.get(name, "")))
        except ValueError:
            continue
        if moment.tzinfo is None:
            zone = zone or listings.zone_of(means.context, str(event.get("depot")))
            if len(str(event[name])) == len("2026-03-02"):
                moment = datetime.combine(moment.date(), time(23, 59))
            event[name] = moment.replace(tzinfo=zone).isoformat()
