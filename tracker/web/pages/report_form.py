"""Take in what a page's form reports, where no script of ours does: the event, and its photos."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import orjson
from anyio import to_thread
from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import UploadFile

from schemas.photos import PhotoReceipt
from schemas.verdicts import FieldFault, Receipt
from tracker.services import listings, photos, reading, report
from tracker.services.actor import Person
from tracker.services.reading import EventUnreadableError
from tracker.services.report import EventUnknownError
from tracker.web.csrf import FIELD
from tracker.web.means import WebMeans
from tracker.web.pages.arriving import ALL_SURE, SURE
from tracker.web.pages.form_fields import read_fields
from tracker.web.pages.handing_in import hand_in, sign
from tracker.web.pages.page import render
from tracker.web.pages.put_right import Choices, fields_to_mend, kept_fields
from tracker.web.request_errors import BadRequestError

_OURS: Final = (FIELD, "back", SURE)
_PHOTO_FIELD: Final = re.compile(r"(^|\.)(photos:list|photo)$")
_PHOTO: Final = "@"
"""A file field is named by where the event keeps its digest: `@photos`, `@plate.photo`."""


class KindNotOfFormError(BadRequestError):
    """A form reports something that is not reported there; carries what it says."""

    def __init__(self, kind: object, kinds: Collection[str]) -> None:
        self.kind = kind
        super().__init__(
            f"{kind!r} is not reported by this form", expected=" or ".join(sorted(kinds))
        )


@dataclass(frozen=True, slots=True)
class Filled:
    """What a form reports, its photos kept; nothing of it is handed in yet."""

    event: dict[str, Any]
    form: str
    """Which form it was: what makes the event's id."""
    photos_say: tuple[str, ...]
    typed: tuple[tuple[str, str], ...] = ()
    """Its fields as they were sent, photos apart."""
    photos: tuple[tuple[str, str], ...] = ()
    """The fields that name a photo, each with the digest under which it is kept."""
    sure: frozenset[str] = frozenset()
    """What was asked about already, and is sent again as it is: `yes` for all of it, or a field."""

    def is_sure(self, field: str = ALL_SURE) -> bool:
        """Say whether a field, or all, was asked about already."""
        return not self.sure.isdisjoint({field, ALL_SURE})

    @property
    def sent(self) -> tuple[tuple[str, str], ...]:
        """All fields as a form without files would send them again."""
        return (*self.typed, *self.photos)


@dataclass(frozen=True, slots=True)
class Handed:
    """What a form handed in, and what became of it within some seconds."""

    event: dict[str, Any]
    receipt: Receipt
    photos_say: tuple[str, ...]
    zone: str
    """The zone of the depot it was reported at, in which moments are told."""


async def answer_form(
    request: Request, means: WebMeans, person: Person, kinds: Collection[str], *, back: str
) -> HTMLResponse:
    """Hand in what the form of a request reports, and return the page that tells what became of it.

    Args:
        request: Its form is read here.
        means: The process's means.
        person: Who reports.
        kinds: The kinds of event that the form may report.
        back: Where the person goes on.

    Raises:
        KindNotOfFormError: the form reports something else.
        NotAPictureError, PictureTooLargeError, ...: a photo cannot be taken; nothing is reported.
    """
    filled = await read_form(request, means, person, kinds)
    return await hand_in_form(request, means, person, filled, back=back)


async def read_form(
    request: Request, means: WebMeans, person: Person, kinds: Collection[str]
) -> Filled:
    """Return what the form of a request reports; arguments and errors are those of `answer_form`.

    For a page that looks at it before it is handed in.
    """
    async with request.form() as form:
        sent = form.multi_items()
        typed = [(name, one) for name, one in sent if isinstance(one, str) and name not in _OURS]
        kind = dict(typed).get("kind")
        if kind not in kinds:
            raise KindNotOfFormError(kind, kinds)
        sure = frozenset(str(one) for name, one in sent if name == SURE)
        says: list[str] = []
        named = [pair for pair in typed if _PHOTO_FIELD.search(pair[0])]
        for name, one in sent:
            if isinstance(one, UploadFile) and one.size:
                kept = await _keep(means, person, await one.read())
                named.append((_field_of(name), kept.digest))
                says += kept.says
    typed = [pair for pair in typed if pair not in named]
    named = list(dict.fromkeys(named))
    event = read_fields([*typed, *named])
    form_id = str(event.pop("form", ""))
    return Filled(event, form_id, tuple(says), tuple(typed), tuple(named), sure)


async def hand_in_form(
    request: Request, means: WebMeans, person: Person, filled: Filled, *, back: str
) -> HTMLResponse:
    """Hand in what a form reports, and return the page that tells what became of it.

    What cannot be read is not handed in: the page asks for what is wrong with it.
    """
    try:
        handed = await hand_over(means, person, filled)
    except EventUnreadableError as fault:
        return ask_again(request, filled, fault.faults)
    return tell_of(request, handed, back=back)


async def hand_over(means: WebMeans, person: Person, filled: Filled) -> Handed:
    """Hand in what a form reports, and wait some seconds for what becomes of it.

    Raises:
        EventUnreadableError: it cannot be read as an event; nothing was handed in.
    """
    event = dict(filled.event)
    sign(means, person, event, filled.form)
    body = orjson.dumps(event)
    reading.read_event(body)
    receipt = await hand_in(means, person, body)
    zones = await to_thread.run_sync(listings.zone_names, means.context)
    return Handed(event, receipt, filled.photos_say, zones.get(str(event.get("depot")), "UTC"))


def is_known(means: WebMeans, person: Person, filled: Filled) -> bool:
    """Say whether this very form was handed in before, as by two taps or by loading it again."""
    event = dict(filled.event)
    sign(means, person, event, filled.form)
    try:
        report.find_receipt(means.context, person, UUID(event["id"]))
    except EventUnknownError:
        return False
    return True


def tell_of(request: Request, handed: Handed, *, back: str) -> HTMLResponse:
    """Return the page that tells what became of what was handed in."""
    status = 403 if handed.receipt.state == "rejected" else 200
    return render(
        request, "capture/told.html", status=status, handed=handed, back=back, zone=handed.zone
    )


def ask_again(
    request: Request,
    filled: Filled,
    faults: Sequence[FieldFault],
    choices: Choices | None = None,
    *,
    sure: str = "",
) -> HTMLResponse:
    """Return the form with what is wrong to be put right, all else kept as it was filled in.

    With `sure` the form says, when sent again, that this was asked: a field, or `yes` for all.
    """
    asked = fields_to_mend(filled.sent, faults, choices)
    said_sure = filled.sure | ({sure} if sure else set())
    return render(
        request,
        "capture/put_right.html",
        status=422,
        asked=asked,
        kept=[*kept_fields(filled.sent, asked), *((SURE, one) for one in sorted(said_sure))],
        path=request.url.path,
    )


async def _keep(means: WebMeans, person: Person, data: bytes) -> PhotoReceipt:
    return await to_thread.run_sync(
        photos.take_photo, means.context, data, person.id, limiter=means.photo_room
    )


def _field_of(name: str) -> str:
    """Return the field that a photo's digest goes to: `@damages.0.photos` adds to a list."""
    field = name.removeprefix(_PHOTO)
    return f"{field}:list" if field.endswith("photos") else field
