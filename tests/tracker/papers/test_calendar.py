"""A calendar file is read back by a calendar library as what fell due."""

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

from icalendar import Calendar

from tests.support.papers import ADDRESS, HOSTILE
from tracker.papers.calendar import DueDay, due_calendar

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)


def make_due(**values: object) -> DueDay:
    given: dict[str, Any] = {
        "unit_id": "0199a1",
        "mark": "ZZZU3054383",
        "depot": "NQY",
        "kind": "examination-due",
        "cause": "2026-04",
        "due_on": date(2026, 3, 31),
        "says": "Safety examination is due.",
        "address": ADDRESS,
    }
    return DueDay(**given | values)


def read_events(written: bytes) -> list[Any]:
    return list(Calendar.from_ical(written).walk("VEVENT"))


def test_due_calendar_event_takes_the_whole_day() -> None:
    (event,) = read_events(due_calendar([make_due()], AT))
    assert event["dtstart"].dt == date(2026, 3, 31)
    assert event["dtend"].dt == date(2026, 4, 1)
    assert str(event["summary"]) == "ZZZU 305438 3: examination due"
    assert str(event["description"]) == "Safety examination is due."
    assert str(event["location"]) == "NQY"
    assert str(event["url"]) == ADDRESS
    assert event["dtstamp"].dt == AT
    assert str(event["transp"]) == "TRANSPARENT"


def test_due_calendar_moved_day_keeps_its_uid_and_another_cause_has_its_own() -> None:
    def uid(**values: object) -> str:
        return str(read_events(due_calendar([make_due(**values)], AT))[0]["uid"])

    assert uid() == uid(due_on=date(2026, 5, 1), says="Later.", mark="HQXU1234567", depot="X")
    others = {uid(), uid(cause="2028-10"), uid(kind="repair-overdue"), uid(unit_id="0199a2")}
    assert len(others) == 4


def test_due_calendar_stands_by_day_and_mark_whatever_the_order_given() -> None:
    dues = [
        make_due(unit_id="b", mark="HQXU1234567"),
        make_due(unit_id="c", due_on=date(2026, 3, 5)),
        *(make_due(unit_id=mark, mark=f"{mark}1234567") for mark in ("DDDU", "BBBU", "CCCU")),
    ]
    written = due_calendar(dues, AT)
    assert written == due_calendar([*reversed(dues), dues[0]], AT)
    marks = [str(event["summary"])[:4] for event in read_events(written)]
    assert marks == ["ZZZU", "BBBU", "CCCU", "DDDU", "HQXU"]


def test_due_calendar_moment_of_another_zone_is_written_in_utc() -> None:
    there = AT.astimezone(timezone(timedelta(hours=5)))
    written = due_calendar([make_due()], there)
    assert b"DTSTAMP:20260302T080000Z" in written
    assert written == due_calendar([make_due()], AT)


def test_due_calendar_text_of_people_cannot_make_another_event() -> None:
    says = "One; two, three\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:x"
    (event,) = read_events(due_calendar([make_due(says=says, mark="x\nUID:y", address=None)], AT))
    assert "END:VEVENT" in str(event["description"])
    assert "url" not in event
    assert len(read_events(due_calendar([make_due(says=HOSTILE.replace("\ud800", ""))], AT))) == 1


def test_due_calendar_lines_are_folded_and_empty_list_is_a_calendar() -> None:
    written = due_calendar([make_due(says="long " * 100)], AT)
    assert max(len(line) for line in written.split(b"\r\n")) <= 75
    assert read_events(due_calendar([], AT)) == []
    assert Calendar.from_ical(due_calendar([], AT))["version"] == "2.0"
