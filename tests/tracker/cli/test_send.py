import threading
from pathlib import Path
from time import sleep

import pytest

from shared.addresses import Role
from tests.support.command_line import SOUND_MASSES, CommandLine, as_lines, make_report
from tracker.services.accept import accept
from tracker.services.drain_all import drain_all
from tracker.store import intake

WRONG_SUM = {**SOUND_MASSES, "payload_kg": 28500}


def test_send_waits_for_one_verdict_per_event_in_their_order(shell: CommandLine) -> None:
    events = [
        make_report("gate-in", masses=SOUND_MASSES),
        make_report("sale", buyer="Bo Thorn", intended_use="storage", paid=True),
        make_report("sale", buyer="Cy Vane", intended_use="storage", paid=True),
        make_report("gate-in", "ZZZU0000026", masses=WRONG_SUM),
    ]
    told = shell.send(*events, status=1)
    assert [(one["line"], one["id"], one["verdict"]) for one in told] == [
        (1, events[0]["id"], "recorded"),
        (2, events[1]["id"], "recorded"),
        (3, events[2]["id"], "refused"),
        (4, events[3]["id"], "recorded"),
    ]
    assert [finding["id"] for finding in told[2]["findings"]] == ["sale.already-sold"]
    assert [finding["id"] for finding in told[3]["findings"]] == ["mass.sum"]
    assert told[0]["findings"] == []


def test_send_same_file_again_prints_the_same_and_changes_nothing(shell: CommandLine) -> None:
    events = [make_report("gate-in"), make_report("hold"), {"kind": "gate-in"}]
    first = shell.send(*events, status=1)
    before = shell.ask("unit", "ZZZU0000010")
    assert shell.send(*events, status=1) == first
    assert shell.ask("unit", "ZZZU0000010") == before


def test_send_same_id_with_other_content_is_a_conflict(shell: CommandLine) -> None:
    event = make_report("gate-in")
    shell.send(event)
    (told,) = shell.send({**event, "slot": "A1"}, status=1)
    assert told["verdict"] is None
    assert told["error"].startswith("The id is taken by an event with other content.")


def test_send_bad_lines_are_answered_by_line_and_field_and_the_others_go_on(
    shell: CommandLine,
) -> None:
    content = b"\n".join(
        [
            as_lines(make_report("gate-in")).strip(),
            b"{broken",
            as_lines(make_report("teleport")).strip(),
            as_lines(make_report("gate-in", masses={"gross_kg": "heavy"}, mood="grey")).strip(),
            as_lines(make_report("gate-in", "GRAFFITI")).strip(),
            as_lines(make_report("restow", slot="A1")).strip(),
        ]
    )
    told = shell.ask("send", "-", "--wait", given=content, status=1)
    verdicts = [one["verdict"] for one in told]
    assert verdicts == ["recorded", "held", "held", "held", "recorded", "recorded"]
    assert [one["line"] for one in told] == [1, 2, 3, 4, 5, 6]
    assert told[1]["error"].startswith("it is no JSON")
    assert told[2]["error"].startswith("kind: 'teleport' is unknown")
    assert "masses.gross_kg: should be a whole number" in told[3]["error"]
    assert "mood: no such field" in told[3]["error"]
    assert [finding["id"] for finding in told[4]["findings"]] == ["mark.shape"]
    held = shell.ask("held")
    assert {one["event_id"] for one in held} == {one["id"] for one in told[1:4]}


def test_send_csv_row_that_is_none_is_held_in_the_files_own_words(
    shell: CommandLine, tmp_path: Path
) -> None:
    file = tmp_path / "arrivals.csv"
    file.write_bytes(
        b"kind,depot,mark,happened_at,reported_by,masses.gross_kg\n"
        b"gate-in,NORTH,ZZZU0000010,2026-03-02T07:00:00Z,Ada Quill,30480\n"
        b"gate-in,NORTH,ZZZU0000026,2026-03-02T07:00:00Z,Ada Quill,30480,1,2\n"
    )
    first, second = shell.ask("send", str(file), "--wait", status=1)
    assert first["verdict"] == "recorded"
    assert second["verdict"] == "held"
    assert second["error"] == ("it has 8 cells, but there are 6 headings. It is kept as it came.")
    assert shell.ask("unit", "ZZZU0000010")["record"]["gross_kg"] == 30480


def test_send_without_waiting_gives_receipts_and_says_that_events_wait(shell: CommandLine) -> None:
    event = make_report("gate-in")
    (receipt,) = shell.ask("send", "-", given=as_lines(event))
    assert receipt["state"] == "waiting"
    assert receipt["accepted"] is True
    assert receipt["verdict"] is None
    result = shell.run("send", "-", given=as_lines(event))
    assert result.exit_code == 0
    assert "1 events: 1 waiting." in result.stdout
    assert "Those that wait are safe" in result.stdout


def test_send_waiting_judges_what_was_left_waiting_before(shell: CommandLine) -> None:
    event = make_report("gate-in")
    shell.ask("send", "-", given=as_lines(event))
    (told,) = shell.send(event)
    assert told["verdict"] == "recorded"


def test_send_takes_more_events_than_one_lot(shell: CommandLine) -> None:
    events = [make_report("sighting", slot=f"A{number}") for number in range(1001)]
    told = shell.send(*events)
    assert [one["id"] for one in told] == [event["id"] for event in events]
    assert {one["verdict"] for one in told} == {"recorded"}


def test_send_leaves_judging_to_a_worker_that_is_there(shell: CommandLine) -> None:
    """The worker here takes the event within the command's patience, so the command never does."""
    shell.means.started_here = False
    event = make_report("gate-in")
    with shell.means.running() as other:
        context = other.context(Role.WORKER)
        worker = threading.Thread(target=lambda: _drain_when_something_waits(context))
        worker.start()
        (told,) = shell.send(event)
        worker.join(10)
        assert told["verdict"] == "recorded"
        assert not worker.is_alive()
        other.close()


def _drain_when_something_waits(context) -> None:  # noqa: ANN001 - a Context
    for _ in range(400):
        if drain_all(context):
            return
        sleep(0.01)
    raise AssertionError("nothing came")


def test_send_judges_itself_where_no_worker_does(shell: CommandLine) -> None:
    shell.means.started_here = False
    (told,) = shell.send(make_report("gate-in"))
    assert told["verdict"] == "recorded"


def test_send_table_shows_those_with_something_to_tell(shell: CommandLine) -> None:
    content = as_lines(
        make_report("gate-in"), make_report("gate-in", "ZZZU0000026", masses=WRONG_SUM)
    )
    result = shell.run("send", "-", "--wait", given=content)
    assert result.exit_code == 0
    assert "a difference of 250 kg" in result.stdout
    assert "2 events: 2 recorded." in result.stdout
    assert "ZZZU0000010" not in result.stdout


def test_send_file_that_is_not_there_is_wrong_usage(shell: CommandLine, tmp_path: Path) -> None:
    result = shell.run("send", str(tmp_path / "none.jsonl"))
    assert result.exit_code == 2
    assert "cannot be read" in result.stderr


@pytest.mark.parametrize("content", [b"", b"[]", b"\n\n"])
def test_send_nothing_is_fine(shell: CommandLine, content: bytes) -> None:
    assert shell.ask("send", "-", "--wait", given=content) == []


def test_accepted_events_are_all_drained_at_once(shell: CommandLine) -> None:
    with shell.means.running() as running:
        bodies = [as_lines(make_report("gate-in", f"ZZZU00000{n}")) for n in range(10, 30)]
        accept(running.context(Role.WEB), bodies)
        worker = running.context(Role.WORKER)
        assert drain_all(worker) == 20
        with worker.engine.connect() as connection:
            assert intake.lanes_waiting(connection) == []
        running.close()
