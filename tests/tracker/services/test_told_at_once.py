"""Whoever is on duty is told at once of breaches and new questions: each once, none of nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from structlog.testing import capture_logs

from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, marks_of, report
from tests.support.mail_server import Mailbox, open_mailbox
from tracker.services import on_duty
from tracker.services.accept import accept
from tracker.services.drain import drain
from tracker.services.forget import forget
from tracker.services.on_duty import DutyError
from tracker.services.post import MailServer, send_waiting
from tracker.store import outbox
from tracker.store.lanes import lane_of_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from email.message import EmailMessage

    from shared.clock import StandingClock

MANAGER, TOM, EVE = "manager@north.example", "tom@north.example", "eve@example.org"
WRONG = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}


@pytest.fixture
def mailbox() -> Iterator[Mailbox]:
    """A mail server that takes everything."""
    with open_mailbox() as opened:
        yield opened


@pytest.fixture
def house(depot: Depot) -> Depot:
    """A depot far east of UTC whose manager has an address."""
    depot.open_depot("NORTH", "Asia/Tokyo", manager=MANAGER)
    return depot.with_settings(public_address="https://boxes.north.example/")


def send(house: Depot, mailbox: Mailbox) -> list[tuple[list[str], EmailMessage]]:
    """Send what waits; return what was taken since."""
    before = len(mailbox.taken)
    send_waiting(house.worker, MailServer(mailbox.url))
    return list(mailbox.taken[before:])


def plain(message: EmailMessage) -> str:
    part = message.get_body(("plain",))
    assert part is not None
    return str(part.get_content()).replace("\r\n", "\n")


def put_on_duty(house: Depot, address: str, at: str = "NORTH") -> None:
    on_duty.begin(house.web, at, address, name=None, by="Ada Quill")


def test_new_question_goes_to_whoever_is_on_duty_and_to_the_manager_while_nobody_is(
    house: Depot, mailbox: Mailbox
) -> None:
    house.record(report("gate-in", masses=WRONG))
    ((recipients, message),) = send(house, mailbox)
    assert recipients == [MANAGER]
    assert message["Subject"] == f"Question: {BOX}"
    put_on_duty(house, TOM)
    put_on_duty(house, EVE, at="*")
    put_on_duty(house, "elsewhere@example.org", at="*")
    on_duty.end(house.web, "*", "elsewhere@example.org")
    house.record(report("gate-in", OTHER, masses=WRONG))
    ((recipients, message),) = send(house, mailbox)
    assert recipients == [EVE, TOM]
    of_mark = "SELECT q.id FROM questions q JOIN marks USING (unit_id) WHERE subject = :mark"
    question = house.one(of_mark, mark=OTHER)
    assert f"https://boxes.north.example/questions/{question}\n" in plain(message)


def test_questions_of_a_file_of_old_papers_are_mailed_to_nobody(
    house: Depot, mailbox: Mailbox
) -> None:
    accept(house.web, [report("gate-in", masses=WRONG)], bulk=True)
    drain(house.worker, lane_of_files(house.web.settings.lanes))
    assert house.one("SELECT count(*) FROM questions") == 1
    assert send(house, mailbox) == []


def test_letters_of_one_mail_are_left_to_whoever_sends_such_mails_already(
    house: Depot, mailbox: Mailbox
) -> None:
    house.record(report("gate-in", masses=WRONG), report("gate-in", OTHER, masses=WRONG))
    with house.worker.engine.begin() as connection:
        assert outbox.try_alone(connection)
        assert outbox.take_next(connection, house.worker.clock.now()) is not None
        assert send(house, mailbox) == []
    ((_, message),) = send(house, mailbox)
    assert message["Subject"] == "NORTH: 2 questions"


def test_breach_goes_to_whoever_is_on_duty_and_always_to_the_manager(
    house: Depot, mailbox: Mailbox
) -> None:
    put_on_duty(house, TOM)
    put_on_duty(house, MANAGER.upper())
    house.record(report("gate-in"))
    house.record(report("gate-out", happened_at="2026-03-02T07:30:00+00:00"))
    mails = [mail for mail in send(house, mailbox) if "Breach" in mail[1]["Subject"]]
    ((recipients, message),) = mails
    assert sorted(address.casefold() for address in recipients) == [MANAGER, TOM]
    says = plain(message)
    assert "2 Mar 2026, 16:30 (Asia/Tokyo)" in says
    assert "UTC" not in says
    assert f"https://boxes.north.example/units/{BOX}\n" in says
    assert "https://boxes.north.example/questions" in says
    html = message.get_body(("html",))
    assert html is not None
    assert f'<a href="https://boxes.north.example/units/{BOX}">' in html.get_content()


def test_what_one_batch_finds_is_one_mail_and_the_next_batch_another(
    house: Depot, mailbox: Mailbox
) -> None:
    one_lane = house.with_settings(lanes=1)
    one_lane.record(*(report("gate-in", mark, masses=WRONG) for mark in (BOX, OTHER)))
    ((_, message),) = send(one_lane, mailbox)
    assert message["Subject"] == "NORTH: 2 questions"
    assert {BOX, OTHER} <= {word.strip("-: ") for word in plain(message).split()}
    one_lane.record(report("gate-in", THIRD, masses=WRONG))
    ((_, message),) = send(one_lane, mailbox)
    assert message["Subject"] == f"Question: {THIRD}"


def test_every_letter_of_one_mail_is_named_when_it_goes_and_when_it_does_not(
    house: Depot, mailbox: Mailbox, clock: StandingClock
) -> None:
    with open_mailbox() as closed:
        nobody_listens = MailServer(closed.url)
    marks = marks_of(25)
    house.record(*(report("gate-in", mark) for mark in marks))
    leaving = "2026-03-02T07:30:00+00:00"
    with capture_logs() as logged:
        house.with_settings(lanes=1).record(
            *(report("gate-out", mark, happened_at=leaving) for mark in marks)
        )
        send_waiting(house.worker, nobody_listens)
        clock.move(timedelta(hours=1))
        assert len(send(house, mailbox)) == 1
    found = {line["letter"] for line in logged if line["event"] == "breach.found"}
    assert len(found) == 25
    for event in ("letter.not_taken", "letter.sent"):
        lines = [line for line in logged if line["event"] == event]
        assert {line["letter"] for line in lines} == found
        assert len({line["mail"] for line in lines}) == 1


def test_nothing_is_told_twice_whatever_happens_to_the_unit(house: Depot, mailbox: Mailbox) -> None:
    came = report("gate-in", masses=WRONG, happened_at="2026-03-02T06:00:00+00:00")
    house.record(came)
    assert len(send(house, mailbox)) == 1
    # The same report again, one that folds the history anew, and one that moves the box.
    house.record(came)
    house.record(report("restow"))
    house.record(report("restow", slot="B1", happened_at="2026-03-02T06:30:00+00:00"))
    assert send(house, mailbox) == []
    # The question goes with what asks it, and comes again when that is put back: asked once.
    asked = house.rows("SELECT id FROM questions")
    wrong = report("correction", None, corrects=id_of(came), changes={"masses": None})
    house.record(wrong)
    assert house.rows("SELECT id FROM questions") == []
    house.record(report("correction", None, corrects=id_of(wrong), withdrawn=True))
    sent = send(house, mailbox)
    assert [row["id"] for row in house.rows("SELECT id FROM questions")] in ([], [asked[0]["id"]])
    assert sent == []


def test_none_goes_when_there_is_nothing_to_say(house: Depot, mailbox: Mailbox) -> None:
    put_on_duty(house, TOM)
    house.record(report("gate-in"), report("restow"))
    assert house.rows("SELECT 1 FROM outbox") == []
    assert send(house, mailbox) == []


def test_many_at_once_are_cut_to_what_a_mail_holds_and_it_is_said(
    house: Depot, mailbox: Mailbox
) -> None:
    many = [report("gate-in", f"ZZZU{serial:06d}9", masses=WRONG) for serial in range(100, 140)]
    house.with_settings(lanes=1).record(*many)
    ((_, message),) = send(house, mailbox)
    told = house.one("SELECT count(*) FROM outbox")
    assert message["Subject"] == f"NORTH: {told} questions"
    assert f"{told - 60} more are not listed here" in plain(message)
    assert house.one("SELECT count(*) FROM outbox WHERE state = 'sent'") == told


@pytest.mark.parametrize(("depot_code", "address"), [("NORTH", "tom"), ("NOWHERE", TOM)])
def test_nobody_is_put_on_duty_where_no_mail_reaches(
    house: Depot, depot_code: str, address: str
) -> None:
    with pytest.raises(DutyError):
        put_on_duty(house, address, at=depot_code)
    assert on_duty.list_all(house.web) == []


def test_duty_says_since_when_and_who_put_it_and_is_forgotten_with_the_person(house: Depot) -> None:
    put_on_duty(house, TOM)
    (duty,) = on_duty.list_all(house.web)
    assert (duty["set_by"], duty["since"]) == ("Ada Quill", house.web.clock.now())
    assert forget(replace(house.web, engine=house.owner), TOM)
    assert on_duty.list_all(house.web) == []
