import pytest

from tests.support.command_line import SOUND_MASSES, CommandLine, make_report

BY = ("--by", "Ada Quill", "--depot", "NORTH")
WRONG_SUM = {**SOUND_MASSES, "payload_kg": 28500}


def only_question(shell: CommandLine) -> str:
    (asked,) = shell.ask("questions")
    return str(asked["id"])


def test_answer_with_the_right_mark_brings_the_events_home(shell: CommandLine) -> None:
    gate_in = make_report("gate-in", "ZZZU0000011")
    shell.send(make_report("pre-advice", batch="B1"), gate_in)
    wrong = shell.ask("unit", "ZZZU0000011")["unit_id"]
    (asked,) = shell.ask("questions")
    assert (asked["mark"], asked["field"], asked["finding"]) == (
        "ZZZU0000011",
        "mark",
        "mark.check-digit",
    )
    told = shell.ask("answer", asked["id"], "--mark", "ZZZU0000010", *BY)
    assert told["verdict"] == "recorded"
    right = shell.ask("unit", "ZZZU0000010")
    assert right["record"]["presence"] == "in-depot"
    assert [row["kind"] for row in right["history"]] == ["pre-advice", "answer", "gate-in"]
    assert (right["history"][2]["id"], right["history"][2]["brought_by"]) == (
        gate_in["id"],
        told["id"],
    )
    left = shell.ask("unit", wrong)
    assert [(row["kind"], row["replaced_by"]) for row in left["history"]] == [
        ("gate-in", told["id"]),
        ("answer", None),
    ]
    assert f"Brought here by event {told['id']}" in shell.run("unit", right["unit_id"]).stdout
    early = shell.ask("unit", right["unit_id"], "--as-of", "2026-03-02T06:59:59Z")
    assert [row["kind"] for row in early["history"]] == ["answer"]
    assert shell.ask("unit", "ZZZU0000011")["unit_id"] == right["unit_id"]
    assert [one["mark"] for one in shell.ask("stock")] == ["ZZZU0000010"]
    assert shell.ask("questions") == []
    assert shell.run("verify").exit_code == 0
    assert shell.run("rebuild", "--check").exit_code == 0


def test_answer_with_a_mass_is_adopted_and_closes_the_question(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", masses=WRONG_SUM))
    assert shell.ask("unit", "ZZZU0000010")["record"]["payload_kg"] is None
    result = shell.run("answer", only_question(shell)[:8], "--payload-kg", "28250", *BY)
    assert result.exit_code == 0
    assert result.stdout == "The answer is recorded.\n"
    assert shell.ask("unit", "ZZZU0000010")["record"]["payload_kg"] == 28250
    assert "No question is open." in shell.run("questions").stdout


def test_answer_that_does_not_settle_it_is_refused_with_status_one(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", masses=WRONG_SUM))
    told = shell.ask("answer", only_question(shell), "--payload-kg", "28400", *BY, status=1)
    assert told["verdict"] == "refused"
    assert len(shell.ask("questions")) == 1


def test_answer_as_painted_leaves_the_paint_to_be_renewed(shell: CommandLine) -> None:
    shell.send(make_report("gate-in", masses=WRONG_SUM))
    shell.ask("answer", only_question(shell), "--as-painted", *BY)
    assert shell.ask("unit", "ZZZU0000010")["record"]["repaint"] == ["masses"]


def test_answer_with_a_line_of_the_plate_is_adopted(shell: CommandLine) -> None:
    plate = {"manufactured_in": "2025-01", "next_examination": "2024-01"}
    shell.send(make_report("gate-in", plate=plate))
    for asked in shell.ask("questions"):
        shell.ask("answer", asked["id"], "--plate", "next_examination=2029-12", *BY)
        break
    assert shell.ask("unit", "ZZZU0000010")["record"]["next_examination"] == "2029-12"


def test_answer_withdrawn_and_confirmed_are_settlements(shell: CommandLine) -> None:
    shell.send(make_report("gate-in"), make_report("gate-in", happened_at="2026-03-02T07:10:00Z"))
    shell.ask("answer", only_question(shell), "--withdrawn", *BY)
    assert shell.ask("questions") == []
    shell.send(make_report("gate-in", happened_at="2026-03-02T07:20:00Z"))
    shell.ask("answer", only_question(shell), "--confirmed", *BY)
    assert shell.ask("questions") == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "Give either the right value, or one of"),
        (("--confirmed", "--withdrawn"), "Give either the right value, or one of"),
        (("--mark", "ZZZU0000010", "--as-painted"), "Give either the right value, or one of"),
        (("--plate", "next_examination"), "LINE=VALUE"),
        (("--at", "2026-03-02T08:00"), "no zone"),
    ],
)
def test_answer_wrong_usage_has_status_two(
    shell: CommandLine, words: tuple[str, ...], says: str
) -> None:
    result = shell.run("answer", "5f1c0a3e", *words, *BY)
    assert result.exit_code == 2
    assert says in " ".join(result.stderr.replace("│", " ").split())


def test_answer_value_that_cannot_be_read_is_wrong_usage_and_kept_nowhere(
    shell: CommandLine,
) -> None:
    shell.send(make_report("gate-in", masses=WRONG_SUM))
    result = shell.run("answer", only_question(shell), "--payload-kg", "heavy", *BY)
    assert result.exit_code == 2
    assert "masses.payload_kg" in result.stderr
    assert shell.ask("held") == []


def test_answer_needs_to_know_who_and_where(shell: CommandLine) -> None:
    result = shell.run("answer", "5f1c0a3e", "--confirmed")
    assert result.exit_code == 2
    assert "--by" in result.stderr or "--depot" in result.stderr


def test_answer_to_no_question_or_to_several_has_status_one(shell: CommandLine) -> None:
    shell.send(
        make_report("gate-in", masses=WRONG_SUM),
        make_report("gate-in", "ZZZU0000026", masses=WRONG_SUM),
    )
    none = shell.run("answer", "nothing", "--confirmed", *BY)
    several = shell.run("answer", "", "--confirmed", *BY)
    assert (none.exit_code, several.exit_code) == (1, 1)
    assert "No open question begins with 'nothing'" in none.stderr
    assert "open questions begin with ''" in several.stderr
