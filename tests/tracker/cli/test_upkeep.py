"""Commands that keep the house: verify, rebuild, round, alerts, depot, contact, held, forget."""

from sqlalchemy import create_engine, text

from shared.addresses import Role
from tests.support.command_line import CommandLine, make_report
from tracker.judge.fold import FOLD_VERSION
from tracker.services.accept import accept
from tracker.store import intake

MARK = "ZZZU0000010"


def alter(shell: CommandLine, statement: str) -> None:
    """Do behind the tracker's back what only the owner of the tables can, its guard off."""
    engine = create_engine(shell.means.settings.databases().owner)
    try:
        with engine.begin() as connection:
            connection.execute(text("ALTER TABLE history DISABLE TRIGGER USER"))
            connection.execute(text(statement))
    finally:
        engine.dispose()


def test_verify_sound_histories_are_fine_and_have_a_root(shell: CommandLine) -> None:
    shell.send(make_report("gate-in"), make_report("restow", slot="A1"))
    told = shell.ask("verify")
    assert (told["streams"], told["rows"], told["flaws"]) == (1, 2, [])
    assert shell.run("verify", "--root", told["root"].upper()).exit_code == 0
    other = shell.run("verify", "--root", "00" * 32)
    assert other.exit_code == 1
    assert "not the root that was expected" in other.stdout


def test_verify_names_the_row_that_was_altered(shell: CommandLine) -> None:
    event = make_report("restow", slot="A1")
    shell.send(make_report("gate-in"), event, make_report("restow", slot="B2"))
    unit = shell.ask("unit", MARK)
    (seq,) = (row["seq"] for row in unit["history"] if row["id"] == event["id"])
    alter(shell, "UPDATE history SET body = replace(body::text, 'A1', 'C9')::json")
    told = shell.ask("verify", status=1)
    assert told["flaws"][0] == {
        "stream_id": unit["unit_id"],
        "seq": seq,
        "event_id": event["id"],
        "says": "its content was changed",
    }
    shown = shell.run("verify")
    assert shown.exit_code == 1
    assert unit["unit_id"] in shown.stdout
    assert event["id"] in shown.stdout
    assert "its content was changed" in shown.stdout


def test_verify_names_the_history_that_was_cut_off(shell: CommandLine) -> None:
    shell.send(make_report("gate-in"), make_report("restow", slot="A1"))
    alter(shell, "DELETE FROM history WHERE seq = 2")
    (flaw,) = shell.ask("verify", status=1)["flaws"]
    assert (flaw["seq"], flaw["says"]) == (1, "it ends at row 1, its head says 2")


def test_rebuild_finds_and_mends_a_record_that_is_not_its_history(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", slot="A1"))
    unit_id = shell.ask("unit", MARK)["unit_id"]
    assert shell.ask("rebuild", "--check") == {
        "units": 1,
        "orders": 0,
        "differing": [],
        "made_by_fold": FOLD_VERSION,
        "fold": FOLD_VERSION,
    }
    alter(shell, "UPDATE records SET body = replace(body::text, 'A1', 'C9')::json")
    assert shell.ask("rebuild", "--check", status=1)["differing"] == [unit_id]
    assert unit_id in shell.run("rebuild", "--check").stdout
    mended = shell.run("rebuild")
    assert mended.exit_code == 0
    assert "1 units, 0 orders: 1 differed and were written anew" in mended.stdout
    assert shell.run("rebuild", "--check").exit_code == 0
    assert shell.ask("unit", MARK)["record"]["slot"] == "A1"


def test_round_raises_what_falls_due_once_and_mails_it(shell: CommandLine) -> None:
    plate = {"manufactured_in": "2024-01", "next_examination": "2026-05"}
    shell.send(make_report("gate-in", plate=plate, purpose="customer-box"))
    shell.run("contact", "add", "NORTH", "manager", "ada@example.org")
    told = shell.ask("round")
    (made,) = told["rounds"]
    assert (made["depot"], made["day"], made["raised"], made["letters"]) == (
        "NORTH",
        "2026-03-02",
        1,
        1,
    )
    assert told["sent"] == 1
    assert len(list((shell.means.settings.home / "mail").glob("*.eml"))) == 1
    (alert,) = shell.ask("alerts", "--depot", "NORTH")
    assert (alert["kind"], alert["mark"], alert["due_on"]) == (
        "examination-due",
        MARK,
        "2026-04-30",
    )
    assert shell.ask("alerts", "--depot", "SOUTH") == []
    assert "examination-due" in shell.run("alerts").stdout
    assert shell.ask("round") == {"rounds": [], "sent": 0}
    assert shell.ask("round", "--on", "2026-03-03")["rounds"][0]["day"] == "2026-03-03"


def test_round_mails_the_manager_of_a_breach(shell: CommandLine) -> None:
    shell.run("contact", "add", "*", "manager", "ada@example.org")
    shell.send(make_report("gate-in"), make_report("gate-out", purpose="sale"))
    assert shell.ask("round")["sent"] == 1
    (mail,) = (shell.means.settings.home / "mail").glob("*.eml")
    assert "ada@example.org" in mail.read_text()
    assert MARK in mail.read_text()


def test_round_day_that_is_none_is_wrong_usage(shell: CommandLine) -> None:
    assert shell.run("round", "--on", "2026-02-30").exit_code == 2


def test_depot_is_set_changed_and_listed(shell: CommandLine) -> None:
    shell.run("depot", "set", "NORTH", "North yard", "UTC")
    shell.run("depot", "set", "NORTH", "North yard", "Europe/Lisbon")
    (told,) = shell.ask("depot", "list")
    assert told == {"code": "NORTH", "name": "North yard", "zone": "Europe/Lisbon"}
    assert "Europe/Lisbon" in shell.run("depot", "list").stdout


def test_depot_with_a_wrong_code_or_zone_is_told(shell: CommandLine) -> None:
    assert shell.run("depot", "set", "north", "North yard", "UTC").exit_code == 2
    wrong = shell.run("depot", "set", "NORTH", "North yard", "Mars/Crater")
    assert wrong.exit_code == 1
    assert "'Mars/Crater' is no time zone" in wrong.stderr
    assert shell.ask("depot", "list") == []


def test_contact_is_added_listed_and_removed(shell: CommandLine) -> None:
    shell.run("contact", "add", "NORTH", "manager", "ada@example.org", "--name", "Ada")
    assert shell.ask("contact", "list") == [
        {"depot": "NORTH", "role": "manager", "address": "ada@example.org", "name": "Ada"}
    ]
    assert "ada@example.org" in shell.run("contact", "list").stdout
    words = ("contact", "remove", "NORTH", "manager", "ada@example.org")
    assert [shell.run(*words).exit_code for _ in range(2)] == [0, 1]
    assert shell.run("contact", "add", "NORTH", "manager", "nobody").exit_code == 2
    assert shell.run("contact", "add", "north", "manager", "ada@example.org").exit_code == 2


def test_held_event_is_shown_and_judged_when_let_go(shell: CommandLine) -> None:
    event = make_report("gate-in")
    with shell.means.running() as running:
        accept(running.context(Role.WEB), [str(event).replace("'", '"').encode()])
        with running.context(Role.WORKER).engine.begin() as connection:
            (lane,) = intake.lanes_waiting(connection)
            (waiting,) = intake.claim(connection, lane, 1)
            intake.hold(connection, waiting.position, "it broke the judge")
        running.close()
    (held,) = shell.ask("held")
    assert (held["event_id"], held["error"], held["readable"]) == (
        event["id"],
        "it broke the judge",
        True,
    )
    assert "it broke the judge" in shell.run("held").stdout
    result = shell.run("let-go", event["id"])
    assert result.exit_code == 0
    assert result.stdout == f"Event {event['id']}: recorded.\n"
    assert shell.ask("held") == []
    again = shell.run("let-go", event["id"])
    assert again.exit_code == 1
    assert "is not held" in again.stderr


def test_let_go_of_what_is_no_id_is_wrong_usage(shell: CommandLine) -> None:
    assert shell.run("let-go", "nonsense").exit_code == 2


def test_forget_erases_a_name_and_breaks_no_chain(shell: CommandLine) -> None:
    shell.send(make_report("gate-in"), make_report("restow", slot="A1", reported_by="Bo Thorn"))
    assert shell.run("forget", "Ada Quill", "--yes").stdout == "Forgotten.\n"
    history = shell.ask("unit", MARK)["history"]
    assert [row["reported_by"] for row in history] == ["(forgotten)", "Bo Thorn"]
    assert shell.run("verify").exit_code == 0
    assert shell.run("rebuild", "--check").exit_code == 0
    again = shell.run("forget", "Ada Quill", "--yes")
    assert (again.exit_code, again.stdout) == (1, "Nothing like that is known.\n")


def test_forget_asks_first_and_reads_from_standard_input(shell: CommandLine) -> None:
    shell.send(make_report("gate-in"))
    assert shell.run("forget", "Ada Quill", given="n\n").exit_code == 1
    assert shell.ask("unit", MARK)["history"][0]["reported_by"] == "Ada Quill"
    assert shell.run("forget", "-", "--yes", given="Ada Quill\n").exit_code == 0
    assert shell.ask("unit", MARK)["history"][0]["reported_by"] == "(forgotten)"
