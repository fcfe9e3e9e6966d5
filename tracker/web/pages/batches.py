"""Batches: announced by the desk, and how each came in: arrived, missing, unexpected."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Annotated, Any, Final
from urllib.parse import urlencode
from uuid import UUID

import orjson
from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from schemas.events.gate import Provenance, Purpose
from shared import marks
from shared.errors import HardstandError, KnowledgeError
from shared.ids import new_id
from tracker.services import announcing, deliveries, listings, reading, sight
from tracker.services.actor import Person
from tracker.services.announcing import Advised, AnnouncementError
from tracker.services.deliveries import DeliveryUnknownError
from tracker.services.reading import EventUnreadableError
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.handing_in import sign
from tracker.web.pages.own_depot import likely_depot, remember
from tracker.web.pages.page import render
from tracker.web.pages.sales import DESK

PREFIX: Final = "/batches"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

_SHARED: Final = (
    "batch",
    "depot",
    "purpose",
    "supplier",
    "expected_on",
    "size_type",
    "masses.gross_kg",
    "masses.tare_kg",
    "manufactured_in",
    "colour",
    "provenance",
    "approval_reference",
)
_OURS: Final = ("first", "count", "keep_tens", "list")
_LONGEST_COUNT: Final = 9
_LARGEST_LIST: Final = 500_000
_LONGEST: Final = 200
_WAIT_S: Final = 8.0

_Name = Annotated[str, Query(max_length=_LONGEST, pattern=r"^[^\x00]*$")]


@dataclass(slots=True)
class _Form:
    """What was filled in, and what was found wrong with it."""

    said: dict[str, str] = field(default_factory=dict)
    units: list[Advised] = field(default_factory=list)
    fault: HardstandError | None = None
    refused: list[tuple[str, str]] = field(default_factory=list)
    """Marks with why nothing was announced of them."""
    handed_in: list[UUID] = field(default_factory=list)
    """Events that wait for their verdict."""

    @property
    def shared(self) -> dict[str, str]:
        """Return what is said of all units."""
        return {name: self.said[name] for name in _SHARED if self.said.get(name)}


@router.get("")
@needs(*EVERY_ROLE)
def get_batches(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    batch: _Name = "",
    announced: Annotated[int, Query(ge=0, le=announcing.MOST)] = 0,
) -> HTMLResponse:
    """Show the batches that are awaited, or how one came in."""
    seen = sight.sight_of(person)
    found, status = None, 200
    if batch.strip():
        try:
            found = deliveries.show_delivery(means.context, seen, batch.strip())
        except DeliveryUnknownError:
            status = 404 if not announced else 200
    return render(
        request,
        "batches/batches.html",
        status=status,
        batch=batch.strip(),
        announced=announced,
        found=found,
        awaited=() if found else deliveries.list_awaited(means.context, seen),
        zones=listings.zone_names(means.context),
        may_announce=person.has_any(DESK),
    )


@router.get("/announce")
@needs(*DESK)
def get_announce(request: Request, means: TheMeans, person: ThePerson) -> HTMLResponse:
    """Show the form that announces a batch."""
    return _show(request, means, person, _Form(), str(new_id()))


@router.post("/announce")
@needs(*DESK)
async def post_announce(request: Request, means: TheMeans, person: ThePerson) -> Response:
    """Look at the list first, or announce it: one pre-advice for each unit."""
    sent = await request.form()
    form = await _read(sent)
    form_id = str(sent.get("form") or new_id())
    if form.fault is None and sent.get("step") == "announce":
        await to_thread.run_sync(_announce, means, person, form, form_id)
        if not form.refused:
            await _wait(means, form)
            query = urlencode({"batch": form.said["batch"], "announced": len(form.units)})
            answer = RedirectResponse(f"{PREFIX}?{query}", status_code=303)
            remember(answer, form.said["depot"])
            return answer
    return await to_thread.run_sync(_show, request, means, person, form, form_id)


async def _read(sent: FormData) -> _Form:
    form = _Form(
        {
            name: value.strip()
            for name in (*_SHARED, *_OURS)
            if isinstance(value := sent.get(name, ""), str)
        }
    )
    try:
        file = sent.get("file")
        if not isinstance(file, str | None) and file.filename:
            form.said["list"] = await _text(file)
        await sent.close()
        form.units = _units(form.said)
        _check_named(form.said)
    except (AnnouncementError, KnowledgeError) as fault:
        form.fault = fault
    return form


def _check_named(said: dict[str, str]) -> None:
    for name, words in (("batch", "the batch's name"), ("depot", "the depot")):
        if not said.get(name):
            raise AnnouncementError(f"It is not said: {words}", expected=words)


async def _text(file: UploadFile) -> str:
    content = await file.read(_LARGEST_LIST + 1)
    try:
        if len(content) <= _LARGEST_LIST:
            return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    raise AnnouncementError(
        "The file is no list of marks that can be read",
        expected=f"text in UTF-8 of up to {_LARGEST_LIST // 1000} thousand characters",
    )


def _units(said: dict[str, str]) -> list[Advised]:
    listed = announcing.of_list(said.get("list", ""), columns=announcing.COLUMNS)
    if not said.get("first"):
        if not listed:
            raise AnnouncementError(
                "No unit is named", expected="the first mark of a sequence, or a list of marks"
            )
        return listed
    count = said.get("count") or "1"
    # Python reads no number of very many digits.
    is_number = count.isascii() and count.isdigit() and len(count) <= _LONGEST_COUNT
    if not is_number or not 1 <= int(count) <= announcing.MOST:
        raise AnnouncementError(
            f"{count!r} is no number of units", expected=f"1 to {announcing.MOST}"
        )
    kept = said.get("keep_tens") == "yes"
    sequence = announcing.of_sequence(said["first"], int(count), keep_tens=kept)
    return announcing.with_exceptions(sequence, listed)


async def _wait(means: WebMeans, form: _Form) -> None:
    """Wait some seconds for the verdicts, so that the batch's page has its units."""
    stop_at = time.monotonic() + _WAIT_S
    for event_id in form.handed_in:
        left_s = stop_at - time.monotonic()
        if left_s <= 0 or not await means.waiter.wait(event_id, left_s):
            return


def _announce(means: WebMeans, person: Person, form: _Form, form_id: str) -> None:
    """Hand the pre-advices in; what is not taken is noted, and nothing is when one is unreadable.

    Announced twice by two taps they are the same events.
    """
    bodies = []
    for unit in form.units:
        event = unit.event(form.shared)
        sign(means, person, event, form_id)
        body = orjson.dumps(event)
        try:
            reading.read_event(body)
        except EventUnreadableError as fault:
            form.refused.append((unit.cells.get("mark", f"line {unit.line}"), fault.wrong))
        bodies.append(body)
    if form.refused:
        return
    means.backlog.check()
    receipts = means.taking_in.take(person, bodies)
    for unit, receipt in zip(form.units, receipts, strict=True):
        if receipt.state == "waiting" and receipt.id is not None:
            form.handed_in.append(receipt.id)
        if receipt.state == "rejected":
            form.refused.append((unit.cells["mark"], receipt.error or ""))


def _show(
    request: Request, means: WebMeans, person: Person, form: _Form, form_id: str
) -> HTMLResponse:
    depots = [
        one["code"]
        for one in listings.depots(means.context)
        if not person.roles_at(one["code"]).isdisjoint(DESK)
    ]
    wrong = form.fault is not None or bool(form.refused)
    return render(
        request,
        "batches/announce.html",
        status=422 if wrong else 200,
        said=form.said,
        units=[_shown(one) for one in form.units],
        fault=form.fault,
        refused=form.refused,
        is_ready=bool(form.units) and not wrong,
        depots=depots,
        likely=likely_depot(request, depots),
        purposes=list(Purpose),
        provenances=list(Provenance),
        columns=announcing.COLUMNS,
        form_id=form_id,
    )


def _shown(unit: Advised) -> dict[str, Any]:
    """Return a unit as the list shows it: whether its mark holds together, what is its own."""
    mark = unit.cells.get("mark", "")
    compact = marks.find_compact(mark)
    right = compact is not None and compact[10:] == marks.check_digit(compact[:10])
    own = {name: cell for name, cell in unit.cells.items() if name != "mark"}
    return {"mark": compact or mark, "is_right": right, "own": own}
