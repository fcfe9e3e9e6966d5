"""What falls due as a calendar file, to be taken into any calendar from a mail."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID, uuid5

from icalendar import Calendar, Event

from schemas.base import Model
from shared import marks

_DAYS: Final = UUID("6f1d6a0c-6a0b-5a57-9f5e-4a3c0f5f7d11")


class DueDay(Model):
    """One unit's due day. Unit, kind and cause name it; the day and the words may change."""

    unit_id: str
    mark: str
    depot: str
    kind: str
    cause: str
    due_on: date
    says: str
    address: str | None = None
    """Where the record is found."""


def due_calendar(dues: Iterable[DueDay], written_at: datetime) -> bytes:
    """Return an iCalendar file (RFC 5545) of all-day events, by day and then by mark.

    A due day keeps its UID in every file, so that a calendar that takes a later file moves the
    entry and does not double it.

    Args:
        dues: May be empty; the same due day twice is one entry.
        written_at: When it was said, with its zone; a calendar keeps what was said last.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Hardstand//Due days//EN")
    calendar.add("version", "2.0")
    once = {_uid(due): due for due in dues}
    for uid, due in sorted(once.items(), key=lambda one: (one[1].due_on, one[1].mark, one[0])):
        calendar.add_component(_event(uid, due, written_at))
    written: bytes = calendar.to_ical()
    return written


def _uid(due: DueDay) -> str:
    return str(uuid5(_DAYS, "\x1f".join((due.unit_id, due.kind, due.cause))))


def _event(uid: str, due: DueDay, written_at: datetime) -> Event:
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", written_at)  # the library writes it in UTC, as the RFC asks
    event.add("dtstart", due.due_on)
    event.add("dtend", due.due_on + timedelta(days=1))
    mark = marks.find_compact(due.mark)
    title = marks.written(mark) if mark else due.mark
    event.add("summary", f"{title}: {due.kind.replace('-', ' ')}")
    event.add("description", due.says)
    event.add("location", due.depot)
    event.add("categories", [due.kind])
    if due.address is not None:
        event.add("url", due.address)
    # A due day keeps nobody from being asked to a meeting.
    event.add("transp", "TRANSPARENT")
    return event
