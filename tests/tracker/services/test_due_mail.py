"""The day's mails: one per person and depot, all that is theirs, by batch, with a calendar file."""

from collections.abc import Iterator
from datetime import date, timedelta
from email.message import EmailMessage
from html.parser import HTMLParser

import pytest
from icalendar import Calendar

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, marks_of, report
from tests.support.mail_server import Mailbox, open_mailbox
from tracker.services import due_mail
from tracker.services.daily_round import make_rounds
from tracker.services.post import MailServer, send_waiting
from tracker.store import house as houses

ADA, TOM = "ada@north.example", "tom@north.example"
LATE = {"lines": [{"work": "lock-box", "count": 2}], "due_on": "2026-03-01"}
OTHERS = {"purpose": "storage-for-others", "plate": {"next_examination": "2026-06"}}


class BreaksOff(MailServer):
    """Takes a mail whole, and is gone before it has said so."""

    def deliver(self, message: EmailMessage) -> None:
        """Hand a mail over, and tell nobody."""
        super().deliver(message)
        raise OSError("connection lost")


@pytest.fixture
def mailbox() -> Iterator[Mailbox]:
    """A mail server that takes everything."""
    with open_mailbox() as opened:
        yield opened


@pytest.fixture
def house(depot: Depot) -> Depot:
    """A depot with an examination for the manager and late work for the workshop."""
    depot.open_depot("NORTH")
    depot.record(report("gate-in", BOX, **OTHERS), report("gate-in", OTHER))
    depot.record(report("work-order", OTHER, **LATE))
    return depot


def let(depot: Depot, address: str, *roles: str, at: str = "NORTH") -> None:
    """Let an address get the mail of roles."""
    with depot.web.engine.begin() as connection:
        for role in roles:
            houses.set_contact(connection, at, role, address)


def deliver(depot: Depot, mailbox: Mailbox) -> dict[str, EmailMessage]:
    """Make the round and send; return the mail of each address, which must be one."""
    make_rounds(depot.worker)
    send_waiting(depot.worker, MailServer(mailbox.url))
    found = {}
    for (address,), message in mailbox.taken:
        assert address not in found
        found[address] = message
    return found


def plain(message: EmailMessage) -> str:
    part = message.get_body(("plain",))
    assert part is not None
    return str(part.get_content())


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.inside = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        del attrs
        self.inside = tag

    def handle_data(self, data: str) -> None:
        if self.inside not in ("title", "style") and data.strip():
            self.words.append(" ".join(data.split()))


def rich(message: EmailMessage) -> list[str]:
    part = message.get_body(("html",))
    assert part is not None
    reader = _Words()
    reader.feed(str(part.get_content()))
    return reader.words


def calendar(message: EmailMessage) -> Calendar:
    (part,) = message.iter_attachments()
    assert (part.get_content_type(), part.get_filename()) == ("text/calendar", "due.ics")
    return Calendar.from_ical(part.get_payload(decode=True))


def test_each_person_gets_one_mail_with_what_is_theirs(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    let(house, TOM, "workshop")
    mails = deliver(house, mailbox)
    assert {*mails} == {ADA, TOM}
    assert mails[ADA]["Subject"] == "NORTH, 2026-03-02: examinations due 1"
    assert mails[TOM]["Subject"] == "NORTH, 2026-03-02: work overdue 1"
    assert BOX in plain(mails[ADA])
    assert OTHER not in plain(mails[ADA])
    assert mails[ADA]["To"] == ADA


def test_person_with_two_roles_gets_one_mail_with_both(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager", "workshop", "gate")
    let(house, TOM, "workshop")
    mails = deliver(house, mailbox)
    assert mails[ADA]["Subject"] == "NORTH, 2026-03-02: examinations due 1, work overdue 1"
    assert BOX in plain(mails[ADA])
    assert OTHER in plain(mails[ADA])
    assert mails[TOM]["Subject"] == "NORTH, 2026-03-02: work overdue 1"


def test_address_of_every_depot_or_in_capitals_is_one_person(
    house: Depot, mailbox: Mailbox
) -> None:
    let(house, ADA, "manager")
    let(house, ADA, "manager", at="*")
    let(house, ADA.upper(), "workshop")
    make_rounds(house.worker)
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    ((recipients, message),) = mailbox.taken
    assert len(recipients) == 1
    assert "work overdue 1" in message["Subject"]


def test_person_of_two_depots_gets_a_mail_of_each(house: Depot, mailbox: Mailbox) -> None:
    house.open_depot("SOUTH")
    house.record(report("gate-in", marks_of(1, "HQXU")[0], depot="SOUTH", **OTHERS))
    let(house, ADA, "manager", at="*")
    make_rounds(house.worker)
    send_waiting(house.worker, MailServer(mailbox.url))
    subjects = sorted(message["Subject"][:5] for message in mailbox.messages)
    assert subjects == ["NORTH", "SOUTH"]


def test_whoever_has_nothing_to_do_gets_no_mail(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    let(house, TOM, "gate", "sales")
    assert {*deliver(house, mailbox)} == {ADA}
    house.worker.clock.move(timedelta(days=1))
    make_rounds(house.worker)
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 0


def test_role_that_nobody_has_keeps_its_letter_and_it_is_said(
    house: Depot, mailbox: Mailbox
) -> None:
    let(house, ADA, "manager")
    assert {*deliver(house, mailbox)} == {ADA}
    found = house.rows("SELECT role, state FROM outbox ORDER BY role")
    assert found == [
        {"role": "manager", "state": "sent"},
        {"role": "workshop", "state": "nobody"},
    ]


def test_outbox_holds_no_address_and_whoever_was_taken_off_gets_none(
    house: Depot, mailbox: Mailbox
) -> None:
    let(house, ADA, "manager")
    make_rounds(house.worker)
    assert ADA not in house.one("SELECT string_agg(o::text, ' ') FROM outbox o")
    with house.web.engine.begin() as connection:
        houses.remove_contact(connection, "NORTH", "manager", ADA)
    let(house, TOM, "manager")
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 0
    assert mailbox.taken == []


def test_managers_mail_carries_root_and_moment_and_nobody_elses_does(
    house: Depot, mailbox: Mailbox
) -> None:
    let(house, ADA, "manager")
    let(house, TOM, "workshop")
    mails = deliver(house, mailbox)
    (row,) = house.rows("SELECT root, moment FROM rounds")
    root = bytes(row["root"]).hex()
    moment = row["moment"].isoformat(timespec="microseconds")
    assert f"hardstand verify --root {root} --at {moment}" in plain(mails[ADA])
    assert "Root" not in plain(mails[TOM])


def test_lines_stand_by_batch_then_by_day_and_what_has_no_batch_last(
    depot: Depot, mailbox: Mailbox
) -> None:
    depot.open_depot("NORTH")
    fleet = marks_of(4)
    batches = ["B-2", "B-1", None, "B-1"]
    months = ["2026-06", "2026-05", "2026-04", "2026-04"]
    for mark, batch, month in zip(fleet, batches, months, strict=True):
        plate = {"next_examination": month}
        depot.record(report("gate-in", mark, purpose="customer-box", batch=batch, plate=plate))
    let(depot, ADA, "manager")
    message = deliver(depot, mailbox)[ADA]
    words = [word for word in plain(message).split() if word in (*fleet, "B-1", "B-2", "no")]
    assert words == ["B-1", fleet[3], fleet[1], "B-2", fleet[0], "no", fleet[2]]


def test_text_and_html_say_the_same(house: Depot, mailbox: Mailbox) -> None:
    house.record(
        report("gate-in", marks_of(1, "HQXU")[0], batch="B <7>", **OTHERS),
    )
    let(house, ADA, "manager", "workshop")
    message = deliver(house, mailbox)[ADA]
    text = " ".join(plain(message).split())
    said = [word for word in rich(message) if word not in ("Unit", "Date", "What")]
    assert len(said) >= 3 * 3 + 4
    assert [word for word in said if word not in text] == []
    for line in plain(message).splitlines():
        if line.startswith("- "):
            mark, rest = line[2:].split(" (", 1)
            on, says = rest.split("): ", 1)
            assert {mark, on, " ".join(says.split())} <= {*said}


def test_calendar_holds_each_day_to_come_once_and_none_that_is_past(
    house: Depot, mailbox: Mailbox
) -> None:
    let(house, ADA, "manager", "workshop")
    events = calendar(deliver(house, mailbox)[ADA]).walk("VEVENT")
    found = {str(one["summary"]).split(": ")[1]: one.decoded("dtstart") for one in events}
    assert found == {"examination due": date(2026, 5, 31)}
    assert {str(one["location"]) for one in events} == {"NORTH"}


def test_mail_of_what_is_late_already_has_no_calendar(house: Depot, mailbox: Mailbox) -> None:
    let(house, TOM, "workshop")
    message = deliver(house, mailbox)[TOM]
    assert "work overdue 1" in message["Subject"]
    assert list(message.iter_attachments()) == []


def test_mail_leads_to_each_unit_and_to_the_page_that_answers(
    house: Depot, mailbox: Mailbox
) -> None:
    far = house.with_settings(public_address="https://boxes.north.example/")
    let(far, TOM, "workshop")
    message = deliver(far, mailbox)[TOM]
    for address in (f"/units/{OTHER}", "/alerts?depot=NORTH"):
        whole = f"https://boxes.north.example{address}"
        assert whole in plain(message).split()
        html = message.get_body(("html",))
        assert html is not None
        assert f'<a href="{whole}">' in html.get_content()


def test_later_reminder_of_the_same_day_moves_no_entry_and_doubles_none(
    house: Depot, mailbox: Mailbox, clock: StandingClock
) -> None:
    let(house, ADA, "manager")
    first = calendar(deliver(house, mailbox)[ADA])
    mailbox.taken.clear()
    clock.move(timedelta(days=60))
    second = calendar(deliver(house, mailbox)[ADA])
    uids = [[str(one["uid"]) for one in found.walk("VEVENT")] for found in (first, second)]
    assert uids[0] == uids[1]
    assert len(uids[0]) == 1


def test_mail_sent_again_is_the_same_mail(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    make_rounds(house.worker)
    assert send_waiting(house.worker, BreaksOff(mailbox.url)) == 0
    house.worker.clock.move(timedelta(hours=3))
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    first, second = mailbox.messages
    for name in ("Message-ID", "Date", "Subject", "To"):
        assert first[name] == second[name]
    assert plain(first) == plain(second)
    assert calendar(first).to_ical() == calendar(second).to_ical()


def test_letter_that_went_keeps_nothing_of_what_it_said(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    make_rounds(house.worker)
    send_waiting(house.worker, BreaksOff(mailbox.url))
    kept = "SELECT state, body::text = '{}' AS is_empty FROM outbox WHERE state <> 'nobody'"
    assert house.rows(kept) == [{"state": "waiting", "is_empty": False}]
    house.worker.clock.move(timedelta(hours=3))
    send_waiting(house.worker, MailServer(mailbox.url))
    assert house.rows(kept) == [{"state": "sent", "is_empty": True}]


def test_messages_of_persons_have_ids_of_their_own(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    let(house, TOM, "manager")
    mails = deliver(house, mailbox)
    assert mails[ADA]["Message-ID"] != mails[TOM]["Message-ID"]
    assert plain(mails[ADA]) == plain(mails[TOM])


def test_contact_that_is_no_address_keeps_nobody_elses_mail(house: Depot, mailbox: Mailbox) -> None:
    let(house, ADA, "manager")
    house.change("INSERT INTO contacts VALUES ('NORTH', 'manager', 'two words', NULL)")
    assert {*deliver(house, mailbox)} == {ADA}


def test_mail_has_an_end_and_says_how_much_it_leaves_out(
    depot: Depot, mailbox: Mailbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(due_mail, "MOST_LINES", 3)
    depot.open_depot("NORTH")
    depot.record(*(report("gate-in", mark, **OTHERS) for mark in marks_of(8)))
    let(depot, ADA, "manager")
    message = deliver(depot, mailbox)[ADA]
    assert message["Subject"] == "NORTH, 2026-03-02: examinations due 8"
    assert plain(message).count("\n- ") == 3
    assert "5 more are not listed here; the page has them all" in plain(message)
    assert len(calendar(message).walk("VEVENT")) == 3
