"""Letters say one thing as text and as HTML, and carry files that arrive as they were."""

from datetime import UTC, date, datetime
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any
from uuid import UUID

import pytest
from icalendar import Calendar

from tracker.papers.calendar import DueDay, due_calendar
from tracker.papers.messages import Attachment, Envelope, is_address, make_message

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
LETTER = UUID("0199a1b2-0000-7000-8000-000000000001")
BODY: dict[str, Any] = {
    "opening": "One thing falls due.",
    "lines": [{"mark": "ZZZU 305438 3", "says": "Examination <due> & more", "on": "2026-03-31"}],
    "closing": "That is all.",
}


def send(*attachments: Attachment) -> EmailMessage:
    envelope = Envelope(LETTER, "hardstand@northquay.example", ["gate@northquay.example"], AT)
    message = make_message(envelope, "Due\r\nBcc: x@y.example", BODY, attachments)
    read = message_from_bytes(message.as_bytes(), policy=default)
    assert isinstance(read, EmailMessage)
    return read


def body_of(message: EmailMessage, kind: str) -> str:
    part = message.get_body((kind,))
    assert part is not None
    return str(part.get_content())


def test_letter_says_the_same_as_text_and_as_html() -> None:
    message = send()
    assert message.get_content_type() == "multipart/alternative"
    assert "- ZZZU 305438 3 (2026-03-31): Examination <due> & more" in body_of(message, "plain")
    assert "Examination &lt;due&gt; &amp; more" in body_of(message, "html")
    assert message["Message-ID"] == f"<{LETTER}@northquay.example>"
    assert message["Subject"] == "Due Bcc: x@y.example"
    assert message["Bcc"] is None


def test_letter_with_calendar_carries_it_as_written() -> None:
    due = DueDay(
        unit_id="u",
        mark="ZZZU3054383",
        depot="NQY",
        kind="examination-due",
        cause="2026-04",
        due_on=date(2026, 3, 31),
        says="Prüfung fällig",
    )
    written = due_calendar([due], AT)
    message = send(Attachment("due.ics", "text/calendar", written))
    (part,) = message.iter_attachments()
    assert part.get_content_type() == "text/calendar"
    assert part.get_content_charset() == "utf-8"
    assert part.get_filename() == "due.ics"
    assert part.get_payload(decode=True) == written
    assert len(Calendar.from_ical(written).walk("VEVENT")) == 1
    assert "One thing falls due." in body_of(message, "plain")
    assert "One thing falls due." in body_of(message, "html")


def test_letter_with_several_files_keeps_their_order_and_bytes() -> None:
    files = [Attachment(f"{n}.pdf", "application/pdf", b"%PDF-\x00" * n) for n in (2, 1)]
    parts = list(send(*files).iter_attachments())
    assert [part.get_filename() for part in parts] == ["2.pdf", "1.pdf"]
    assert [part.get_payload(decode=True) for part in parts] == [f.content for f in files]


@pytest.mark.parametrize("name", ["a\r\nBcc: x.ics", "fällig.ics", '"quoted".ics'])
def test_letter_name_of_a_file_makes_no_header(name: str) -> None:
    message = send(Attachment(name, "text/calendar", b"BEGIN:VCALENDAR\r\n"))
    (part,) = message.iter_attachments()
    assert part.get_filename() == " ".join(name.split())
    assert message["Bcc"] is None
    assert part["Bcc"] is None


@pytest.mark.parametrize(
    "text", ["a@[127@b.test>", "", "@", "a@b.test, c@d.test", "a@b.test\n", "<"]
)
def test_what_is_no_address_is_said_to_be_none(text: str) -> None:
    assert not is_address(text)
