"""The commands about alerts, stock checks and old roots, as somebody at a shell uses them."""

from __future__ import annotations

from tests.support.command_line import CommandLine, make_report

MARK = "ZZZU0000010"
LATE = {"lines": [{"work": "lock-box"}], "due_on": "2026-03-01"}
WHO = ("--by", "Tom Reed", "--reason", "parts come Friday")


def make_late(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", slot="A1"), make_report("work-order", **LATE))
    assert shell.run("round").exit_code == 0


def test_alert_is_listed_acknowledged_and_listed_with_the_answer(shell: CommandLine) -> None:
    make_late(shell)
    (answered,) = shell.ask("alerts", "acknowledge", MARK, "work-overdue", *WHO)
    assert answered["kind"] == "work-overdue"
    (listed,) = shell.ask("alerts")
    assert (listed["answered_by"], listed["reason"]) == ("Tom Reed", "parts come Friday")
    assert "acknowledged: parts come Friday" in " ".join(shell.run("alerts").stdout.split())


def test_put_off_is_said_with_its_day_and_a_past_day_is_an_error(shell: CommandLine) -> None:
    make_late(shell)
    put = ("alerts", "put-off", MARK, "work-overdue", *WHO, "--until")
    done = shell.run(*put, "2026-03-20")
    assert (done.exit_code, "put off until 2026-03-20" in done.stdout) == (0, True)
    assert shell.run(*put, "2026-03-02").exit_code == 1
    assert shell.run(*put, "tomorrow").exit_code == 2


def test_alert_that_does_not_stand_is_an_error(shell: CommandLine) -> None:
    make_late(shell)
    assert shell.run("alerts", "acknowledge", MARK, "long-stay", *WHO).exit_code == 1


def test_stock_check_by_commands(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", slot="A1"))
    begun = shell.ask("stock-check", "start", "NORTH", "--by", "Ada Quill", "--id", "N-1")
    assert (begun["id"], begun["depot"]) == ("N-1", "NORTH")
    missing = shell.ask("stock-check", "compare", "N-1", status=1)
    assert [one["mark"] for one in missing["not_found"]] == [MARK]
    seen = make_report("sighting", slot="B2", check="N-1", happened_at="2026-03-02T08:00:00Z")
    shell.send(seen)
    shown = shell.run("stock-check", "finish", "N-1")
    assert shown.exit_code == 1
    assert "in the wrong slot" in shown.stdout
    assert shell.run("stock-check", "compare", "N-9").exit_code == 1
    (listed,) = shell.ask("stock-check", "list")
    assert listed["finished_at"] is not None


def test_stock_check_that_finds_all_in_place_is_well(shell: CommandLine) -> None:
    shell.ask("stock-check", "start", "NORTH", "--by", "Ada Quill", "--id", "N-1")
    shell.send(make_report("gate-in", slot="A1", happened_at="2026-03-02T08:00:00Z"))
    assert "All is where the record has it." in shell.run("stock-check", "compare", "N-1").stdout


def test_root_of_an_old_mail_is_proved_with_and_without_its_moment(
    shell: CommandLine,
) -> None:
    make_late(shell)
    (made,) = shell.ask("round", "--on", "2026-03-03")["rounds"]
    shell.send(make_report("restow", slot="B2"))
    proof = ("verify", "--root", made["root"])
    assert shell.ask(*proof, "--at", made["moment"])["root_at"] == made["root"]
    assert shell.ask(*proof)["root_as_expected"] is True
    assert shell.ask(*proof, "--at", "2026-03-02T09:00:00Z", status=1)["flaws"] == []
    assert shell.run(*proof, "--at", "yesterday").exit_code == 2
