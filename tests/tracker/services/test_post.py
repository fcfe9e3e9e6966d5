from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from email.message import EmailMessage

import psycopg
import pytest
from sqlalchemy.exc import DBAPIError

from shared.clock import StandingClock
from tests.support.depot import Depot, report
from tests.support.mail_server import Mailbox, open_mailbox
from tracker.services.post import MailFolder, MailServer, post_of, send_waiting
from tracker.store import house as houses
from tracker.store import outbox
from tracker.store.outbox import Letter, letter_id

MANAGER = "manager@north.example"
BODY = {
    "opening": "This is due at NORTH.",
    "lines": [{"mark": "ZZZU3000016", "says": "Safety <examination> is due.", "on": "2026-05-31"}],
    "closing": "That is all.",
}


@pytest.fixture
def mailbox() -> Iterator[Mailbox]:
    """A mail server that takes everything."""
    with open_mailbox() as opened:
        yield opened


@pytest.fixture
def house(depot: Depot) -> Depot:
    """A depot whose manager has an address."""
    depot.open_depot("NORTH", manager=MANAGER)
    return depot


def put(depot: Depot, *names: str, role: str = "manager", subject: str = "Due today") -> None:
    """Put letters into the outbox."""
    letters = [Letter(letter_id("test", name), "NORTH", role, subject, BODY) for name in names]
    with depot.worker.engine.begin() as connection:
        outbox.post(connection, letters, depot.worker.clock.now())


def states(depot: Depot) -> list[tuple[str, int]]:
    """Return state and attempts of each letter."""
    return [
        (row["state"], row["attempts"])
        for row in depot.rows("SELECT state, attempts FROM outbox ORDER BY id")
    ]


def test_letter_goes_once_to_everybody_of_the_role(house: Depot, mailbox: Mailbox) -> None:
    house.open_depot("SOUTH", manager="manager@south.example")
    with house.web.engine.begin() as connection:
        houses.set_contact(connection, "*", "manager", "head@example.org")
        houses.set_contact(connection, "NORTH", "workshop", "shop@north.example")
    put(house, "one")
    post = MailServer(mailbox.url)
    assert send_waiting(house.worker, post) == 1
    assert send_waiting(house.worker, post) == 0
    ((recipients, message),) = mailbox.taken
    assert recipients == ["head@example.org", MANAGER]
    assert message["Subject"] == "Due today"
    assert states(house) == [("sent", 0)]


def test_same_letter_posted_again_is_not_put_in_again(house: Depot, mailbox: Mailbox) -> None:
    put(house, "one")
    send_waiting(house.worker, MailServer(mailbox.url))
    put(house, "one")
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 0
    assert len(mailbox.taken) == 1


@dataclass
class CrashingPost:
    """Hands the mail over and dies before anybody can write that down."""

    server: MailServer

    def deliver(self, message: EmailMessage) -> None:
        """Deliver, then die."""
        self.server.deliver(message)
        raise KeyboardInterrupt


def test_crash_between_the_servers_yes_and_the_commit_sends_the_same_mail_again(
    house: Depot, mailbox: Mailbox, clock: StandingClock
) -> None:
    put(house, "one")
    with pytest.raises(KeyboardInterrupt):
        send_waiting(house.worker, CrashingPost(MailServer(mailbox.url)))
    assert states(house) == [("waiting", 0)]
    clock.move(timedelta(hours=3))
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    first, second = mailbox.messages
    assert first["Message-ID"] == second["Message-ID"]
    assert first["Message-ID"].startswith(f"<{letter_id('test', 'one')}@")
    assert first["Date"] == second["Date"]
    assert first.get_body().get_content() == second.get_body().get_content()


def test_refused_letter_waits_longer_each_time_goes_when_taken_and_others_go_on(
    house: Depot, mailbox: Mailbox, clock: StandingClock
) -> None:
    put(house, "one")
    mailbox.answer = "451 try again later"
    post = MailServer(mailbox.url)
    waits = []
    for attempt in range(1, 4):
        assert send_waiting(house.worker, post) == 0
        assert mailbox.attempts == attempt
        due = house.one("SELECT not_before FROM outbox")
        waits.append((due - clock.now()).total_seconds() / 60)
        clock.set(due - timedelta(seconds=1))
        assert send_waiting(house.worker, post) == 0
        assert mailbox.attempts == attempt
        clock.set(due)
    assert waits == [2, 4, 8]
    assert "451" in house.one("SELECT error FROM outbox")
    mailbox.answer = "250 OK"
    assert send_waiting(house.worker, post) == 1
    assert states(house) == [("sent", 3)]


def test_letter_nobody_takes_is_given_up_and_kept(
    house: Depot, mailbox: Mailbox, clock: StandingClock
) -> None:
    put(house, "one")
    mailbox.answer = "554 never"
    for _ in range(20):
        send_waiting(house.worker, MailServer(mailbox.url))
        clock.move(timedelta(hours=5))
    assert mailbox.attempts == 12
    assert states(house) == [("given-up", 12)]


def test_letters_wait_while_nobody_listens(house: Depot, unused_port: int) -> None:
    put(house, "one", "two")
    assert send_waiting(house.worker, MailServer(f"smtp://127.0.0.1:{unused_port}")) == 0
    assert states(house) == [("waiting", 1), ("waiting", 1)]


@pytest.fixture
def unused_port() -> int:
    """A port where nobody listens."""
    with open_mailbox() as opened:
        return opened.port


def test_letter_to_nobody_is_kept_and_said(house: Depot, mailbox: Mailbox) -> None:
    put(house, "one", role="workshop")
    put(house, "two")
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    assert [recipients for recipients, _ in mailbox.taken] == [[MANAGER]]
    query = "SELECT state, error FROM outbox WHERE role = 'workshop'"
    assert house.rows(query) == [
        {"state": "nobody", "error": "no contact for this role at this depot"}
    ]


def test_one_address_the_server_refuses_keeps_the_letter_from_nobody_else(
    house: Depot, mailbox: Mailbox
) -> None:
    house.open_depot("NORTH", manager="gone@north.example")
    mailbox.refuses.add("gone@north.example")
    put(house, "one")
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    assert [recipients for recipients, _ in mailbox.taken] == [[MANAGER]]


NO_ADDRESSES = [
    "nobody",
    "",
    "two words@north.example",
    "a@north.example\r\nBcc: all@elsewhere.example",
    "a@north.example, b@elsewhere.example",
    "a@north.example>\nRCPT TO:<b@elsewhere.example",
    "a\x7f@north.example",
    "@north.example",
]


@pytest.mark.parametrize("address", NO_ADDRESSES)
def test_contact_that_is_no_address_stops_no_mail_and_reaches_nobody(
    house: Depot, mailbox: Mailbox, address: str
) -> None:
    house.change(
        "INSERT INTO contacts VALUES ('NORTH', 'manager', :address, NULL),"
        " ('NORTH', 'workshop', :address, NULL)",
        address=address,
    )
    put(house, "one")
    put(house, "two", role="workshop")
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    ((recipients, message),) = mailbox.taken
    assert recipients == [MANAGER]
    assert message["To"] == MANAGER
    assert message["Bcc"] is None
    query = "SELECT state FROM outbox WHERE role = 'workshop'"
    assert house.one(query) == "nobody"


@pytest.mark.parametrize(
    "subject",
    [
        "Due\r\nBcc: all@elsewhere.example",
        "Due\nX: y\n\nbody",
        "Due\x00\x0b\x85\u2028end",
        "\u202eeud",
        "Ü" * 300,
        "",
    ],
)
def test_subject_stays_one_header_whatever_is_in_it(
    house: Depot, mailbox: Mailbox, subject: str
) -> None:
    house.change("UPDATE contacts SET name = 'x'")
    with house.worker.engine.begin() as connection:
        letter = Letter(
            letter_id("test", subject), "NORTH", "manager", subject.replace("\x00", ""), BODY
        )
        outbox.post(connection, [letter], house.worker.clock.now())
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    ((recipients, message),) = mailbox.taken
    assert recipients == [MANAGER]
    assert message["Bcc"] is None
    assert message["X"] is None
    assert message["Subject"] == " ".join(subject.replace("\x00", "").split())
    assert "This is due at NORTH." in message.get_body(("plain",)).get_content()


def test_slow_server_costs_no_second_mail(house: Depot, mailbox: Mailbox) -> None:
    put(house, "one")
    mailbox.answer_after_s = 1.0
    with house.with_limits(idle_in_transaction_session_timeout=200) as impatient:
        assert send_waiting(impatient.worker, MailServer(mailbox.url)) == 1
    assert states(house) == [("sent", 0)]
    assert len(mailbox.taken) == 1


def test_two_senders_at_once_take_different_letters(house: Depot, mailbox: Mailbox) -> None:
    put(house, *(f"letter {number}" for number in range(6)))
    with house.worker.engine.begin() as connection:
        first = outbox.take_next(connection, house.worker.clock.now())
        assert send_waiting(house.worker, MailServer(mailbox.url)) == 5
    assert len(mailbox.taken) == 5
    assert all(str(first.letter.id) not in one["Message-ID"] for one in mailbox.messages)
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1


def test_without_a_mail_server_letters_become_files_once(house: Depot) -> None:
    put(house, "one")
    assert post_of(house.worker) == MailFolder(house.worker.settings.home / "mail")
    assert send_waiting(house.worker, post_of(house.worker)) == 1
    (file,) = (house.worker.settings.home / "mail").iterdir()
    assert file.name == f"{letter_id('test', 'one')}.eml"
    assert MANAGER.encode() in file.read_bytes()


def test_password_is_never_sent_in_the_clear(house: Depot, mailbox: Mailbox) -> None:
    put(house, "one")
    url = mailbox.url.replace("smtp://", "smtp://user:secret@")
    assert send_waiting(house.worker, MailServer(url)) == 0
    assert "no TLS" in house.one("SELECT error FROM outbox")
    assert mailbox.attempts == 0


def test_breach_is_mailed_to_the_manager_once(house: Depot, mailbox: Mailbox) -> None:
    house.record(report("gate-in"), report("gate-out", purpose="sale"))
    house.record(report("sighting"))
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
    (message,) = mailbox.messages
    assert message["Subject"].startswith("Breach: ZZZU")
    assert "without a release" in message.get_body(("plain",)).get_content()


def test_database_that_fails_leaves_the_letter_waiting(house: Depot, mailbox: Mailbox) -> None:
    put(house, "one")
    with house.with_limits(statement_timeout=50) as hasty, house.owner.begin() as connection:
        connection.exec_driver_sql("LOCK TABLE outbox IN ACCESS EXCLUSIVE MODE")
        with pytest.raises((DBAPIError, psycopg.Error)):
            send_waiting(hasty.worker, MailServer(mailbox.url))
    assert send_waiting(house.worker, MailServer(mailbox.url)) == 1
