"""`letters`: what was not sent is told with the reason, and goes or is dropped as it is told."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import create_engine, text

from tests.support.command_line import CommandLine
from tracker.store import measures, outbox
from tracker.store.measures import Measures
from tracker.store.outbox import Letter, letter_id

BODY = {"opening": "Look.", "lines": [], "closing": "That is all.", "path": "/questions"}
MOMENT = datetime(2026, 3, 2, 7, tzinfo=UTC)
ONE, OTHER = letter_id("test", "one"), letter_id("test", "other")


def put(shell: CommandLine, state: str = "waiting", attempts: int = 0) -> None:
    """Put two letters to whoever is on duty into the outbox, in a state."""
    engine = create_engine(shell.means.settings.databases().owner)
    letters = [Letter(one, "NORTH", "on duty, manager", "Breach", BODY) for one in (ONE, OTHER)]
    with engine.begin() as connection:
        outbox.post(connection, letters, MOMENT)
        values = {"state": state, "attempts": attempts}
        connection.execute(text("UPDATE outbox SET state = :state, attempts = :attempts"), values)
    engine.dispose()


def measure(shell: CommandLine) -> Measures:
    engine = create_engine(shell.means.settings.databases().web)
    try:
        with engine.begin() as connection:
            return measures.read(connection)
    finally:
        engine.dispose()


def sent(shell: CommandLine) -> list[str]:
    assert shell.run("round").exit_code == 0
    return sorted(path.stem for path in (shell.means.settings.home / "mail").glob("*.eml"))


def test_letters_that_reached_nobody_go_once_there_is_an_address(shell: CommandLine) -> None:
    put(shell)
    assert sent(shell) == []
    told = shell.ask("letters", status=1)
    assert {(one["id"], one["state"]) for one in told} == {
        (str(ONE), "nobody"),
        (str(OTHER), "nobody"),
    }
    assert "no contact for this role at this depot" in shell.run("letters").stdout
    assert shell.run("contact", "add", "NORTH", "manager", "ada@depot.example").exit_code == 0
    assert sent(shell) == []  # an address alone moves none that was tried
    assert "2 wait" in shell.run("letters", "send-again").stdout
    # Two that came at once are one mail, named by the first.
    assert sent(shell) == [str(min(ONE, OTHER))]
    assert shell.ask("letters") == []
    assert measure(shell).letters == {}


def test_letter_that_was_given_up_is_tried_as_often_as_a_new_one(shell: CommandLine) -> None:
    put(shell, "given-up", attempts=12)
    assert shell.run("letters", "send-again", str(ONE)).exit_code == 0
    told = {one["id"]: (one["state"], one["attempts"]) for one in shell.ask("letters", status=1)}
    assert told == {str(ONE): ("waiting", 0), str(OTHER): ("given-up", 12)}


def test_letter_that_is_dropped_never_goes_and_is_watched_no_more(shell: CommandLine) -> None:
    put(shell, "given-up", attempts=12)
    assert shell.run("letters", "drop", str(ONE), str(OTHER)).exit_code == 0
    assert shell.ask("letters") == []
    assert measure(shell).letters == {}
    assert shell.run("letters", "send-again").stdout.startswith("0 wait")
    assert sent(shell) == []


def test_letter_that_goes_by_itself_or_is_unknown_is_left_alone(shell: CommandLine) -> None:
    put(shell)
    for word in ("send-again", "drop"):
        refused = shell.run("letters", word, str(ONE))
        assert refused.exit_code == 1
        assert "neither given up nor without an address" in refused.output
    assert [one["state"] for one in shell.ask("letters")] == ["waiting", "waiting"]
