"""The readers of what strangers write, each with how it may refuse and what must hold when not."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from email import message_from_bytes, policy
from typing import Any, Final
from urllib.parse import urljoin, urlsplit
from uuid import UUID

import typer
from pydantic import TypeAdapter, ValidationError

from schemas.base import Moment
from schemas.readings import Masses
from shared import marks, misreads, size_types
from shared.damage_locations import parse_location
from shared.errors import HardstandError, KnowledgeError
from shared.legible import legible
from shared.months import Month
from tracker.cli import event_files, moments
from tracker.papers import messages, pictures
from tracker.papers.messages import Envelope
from tracker.papers.pictures import Bounds
from tracker.services import announcing, reading
from tracker.services.reading import EventUnreadableError
from tracker.services.sign_in import plain_name
from tracker.web.api import event_list, stock
from tracker.web.pages import form_fields
from tracker.web.pages.sign_in import own_path
from tracker.web.request_errors import BadRequestError


@dataclass(frozen=True, slots=True)
class Reader:
    """A reader under fire. `read` raises one of `refusals`, or something that is a fault."""

    name: str
    read: Callable[[str], object]
    refusals: tuple[type[Exception], ...]
    share: int = 1
    """How many of the texts it gets, beside the others; the quick ones get more."""

    def try_text(self, text: str) -> bool:
        """Say whether a text could be read; anything but a refusal in its own words comes out."""
        try:
            self.read(text)
        except self.refusals as refusal:
            # The words themselves go into answers, logs and the database.
            str(refusal)
            return False
        return True


def _mark(text: str) -> None:
    marks.shape_fault(text)
    for found in misreads.candidates(text):
        _agree(marks.parse(found).compact, found)
    mark = marks.parse(text)
    _agree(marks.parse(str(mark)), mark)
    _agree(marks.parse(mark.compact), mark)


def _size_type(text: str) -> None:
    found = size_types.read_size_type(text)
    _agree(size_types.read_size_type(found.code), found)


def _masses(text: str) -> None:
    found = Masses.model_validate_json(_bytes(text))
    _agree(Masses.model_validate_json(found.model_dump_json()), found)


def _month(text: str) -> None:
    found = Month.parse(text)
    _agree(str(found), text)


_MOMENT: Final = TypeAdapter[datetime](Moment)


def _moment(text: str) -> None:
    found = _MOMENT.validate_python(text)
    _agree(_MOMENT.validate_json(_MOMENT.dump_json(found)), found)


def _day(text: str) -> None:
    found = moments.read_day(text)
    _agree(moments.read_day(found.isoformat()), found)


def _asked_moment(text: str) -> None:
    found = moments.read_moment(text)
    _agree(moments.read_moment(found.isoformat()), found)


def _location(text: str) -> None:
    found = parse_location(text)
    _agree(parse_location(str(found)), found)


def _event(text: str) -> None:
    form = reading.canonical(reading.read_event(_bytes(text)))
    _agree(reading.canonical(reading.read_event(form)), form)
    payload = reading.parse_text(form)
    told = reading.with_tokens(payload, dict.fromkeys(reading.personal_values(payload), "t"))
    _agree(told["kind"], payload["kind"])


def _event_list(text: str) -> None:
    for body in event_list.split(_bytes(text)):
        _read_or_refuse(body)


def _event_file(text: str) -> None:
    _lines(text, "")


def _csv_file(text: str) -> None:
    _lines(text, "sent.csv")


def _lines(text: str, name: str) -> None:
    for line in event_files.read_events(_bytes(text), name=name):
        if line.fault is None:
            _read_or_refuse(line.body)


def _read_or_refuse(body: bytes) -> None:
    try:
        reading.canonical(reading.read_event(body))
    except EventUnreadableError as refusal:
        # It is kept in the database, which takes neither NUL nor lone surrogates.
        _agree(str(refusal).count("\x00"), 0)
        str(refusal).encode()


def _form(text: str) -> None:
    """A line is a field: its name, an equals sign, its value."""
    pairs = [(name, value) for name, _, value in (line.partition("=") for line in text.split("\n"))]
    json.dumps(form_fields.read_fields(pairs))


def _stock_key(text: str) -> None:
    stock.read_key(text)


_LETTER: Final = UUID(int=1)
_AT: Final = datetime(2026, 3, 2, 8, tzinfo=UTC)
_PICTURES: Final = Bounds(most_bytes=200_000, most_pixels=1_000_000)


def _photo(text: str) -> None:
    """A sign is a byte; what is kept of a picture gives the same when it is taken in again."""
    found = pictures.read_picture(bytes(ord(sign) & 0xFF for sign in text), _PICTURES)
    _agree(pictures.read_picture(found.kept, _PICTURES).kept, found.kept)


def _amount(text: str) -> None:
    found = form_fields.read_amount(text)
    if found is None:
        raise _NotReadError
    # It is an amount to whoever reads events, and written so it can be meant in no other way.
    _agree(Decimal(found) >= 0, True)  # noqa: FBT003 - what it has to be
    _agree(form_fields.read_amount(found), found)


def _address(text: str) -> None:
    if not messages.is_address(text):
        raise _NotReadError
    envelope = Envelope(_LETTER, "hardstand@localhost", [text], _AT)
    mail = messages.make_message(envelope, text, {"opening": text, "lines": [], "closing": ""})
    told = message_from_bytes(mail.as_bytes(), policy=policy.default)
    _agree(len(told.get_all("To", [])), 1)
    _agree({"Bcc", "Cc"} & set(told.keys()), set())


def _way(text: str) -> None:
    """Where a browser is sent to after a form: never to another house."""
    found = own_path(text)
    _agree(own_path(found), found)
    _agree(urlsplit(urljoin("https://depot.test/", found)).netloc, "depot.test")


def _shown(text: str) -> None:
    found = legible(text)
    _agree(legible(found), found)
    found.encode()


def _unit_list(text: str) -> None:
    # Forms and files are decoded before: a half of a character has no way in.
    told = _bytes(text).decode(errors="replace")
    for unit in announcing.of_list(told, columns=announcing.COLUMNS):
        json.dumps(unit.event({}))


def _person_name(text: str) -> None:
    found = plain_name(text)
    _agree("\x00" in found, False)  # noqa: FBT003 - what it has to be


class _NotReadError(Exception):
    """A reader that answers instead of raising has found nothing."""


def _agree(found: Any, expected: Any) -> None:  # noqa: ANN401 - whatever was read
    if found != expected:
        raise AssertionError(f"{found!r} is not {expected!r}")


def _bytes(text: str) -> bytes:
    """Return a text as bytes; lone surrogates as the bytes that no encoding knows."""
    return text.encode("utf-8", "surrogatepass")


READERS: Final = (
    Reader("mark", _mark, (KnowledgeError,), share=3),
    Reader("size-type", _size_type, (KnowledgeError,), share=8),
    Reader("masses", _masses, (ValidationError,), share=4),
    Reader("month", _month, (KnowledgeError,), share=4),
    Reader("moment", _moment, (ValidationError,), share=4),
    Reader("day", _day, (typer.BadParameter,), share=4),
    Reader("asked-moment", _asked_moment, (typer.BadParameter,), share=4),
    Reader("location", _location, (KnowledgeError,), share=4),
    Reader("event", _event, (EventUnreadableError,), share=2),
    Reader("event-list", _event_list, (HardstandError,)),
    Reader("event-file", _event_file, ()),
    Reader("csv-file", _csv_file, ()),
    Reader("form", _form, (BadRequestError,), share=2),
    Reader("photo", _photo, (HardstandError,)),
    Reader("amount", _amount, (_NotReadError,), share=4),
    Reader("address", _address, (_NotReadError,)),
    Reader("way", _way, (), share=4),
    Reader("shown", _shown, (), share=4),
    Reader("unit-list", _unit_list, (HardstandError,), share=2),
    Reader("person-name", _person_name, (), share=4),
    Reader("stock-key", _stock_key, (BadRequestError,), share=2),
)
