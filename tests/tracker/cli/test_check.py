import json

import orjson
import pytest

from tests.support.command_line import CommandLine, GivenMeans
from tracker.cli.checking import check_many
from tracker.judge.painted import Beside, judge_painted


@pytest.fixture
def bare_shell() -> CommandLine:
    """A shell without any service: checking needs none."""
    return CommandLine(GivenMeans(None, None))


def test_check_right_marks_are_ok_and_remainder_ten_is_noted(bare_shell: CommandLine) -> None:
    first, second = bare_shell.ask("check", "CSQU3054383", "TASU1170000")
    assert first == {
        "mark": "CSQU3054383",
        "ok": True,
        "findings": [],
        "suggestions": [],
        "decoded": {
            "owner": "CSQ",
            "category": "U",
            "category_means": "freight container",
            "serial": "305438",
            "check_digit": "3",
        },
    }
    assert second["ok"] is True
    assert [(one["id"], one["severity"]) for one in second["findings"]] == [
        ("mark.remainder-ten", "note")
    ]


def test_check_wrong_digit_is_not_ok_and_tells_the_right_one(bare_shell: CommandLine) -> None:
    (told,) = bare_shell.ask("check", "CSQU3054384", status=1)
    (finding,) = told["findings"]
    assert not told["ok"]
    assert (finding["id"], finding["seen"], finding["expected"]) == ("mark.check-digit", 4, 3)
    assert set(finding) == {"id", "severity", "field", "message", "seen", "expected", "source"}
    assert told["suggestions"] == ["CSQU3054383"]


def test_check_mark_is_told_in_its_normal_form_or_as_given(bare_shell: CommandLine) -> None:
    told = bare_shell.ask("check", "csqu 305438 3", "CSQU305438", "graffiti", status=1)
    assert [one["mark"] for one in told] == ["CSQU3054383", "CSQU3054383", "graffiti"]
    assert [one["ok"] for one in told] == [True, True, False]


def test_check_masses_that_do_not_add_up_are_in_doubt(bare_shell: CommandLine) -> None:
    masses = ("--gross-kg", "30480", "--tare-kg", "2230", "--payload-kg")
    (wrong,) = bare_shell.ask("check", "CSQU3054383", *masses, "28500", status=1)
    (right,) = bare_shell.ask("check", "CSQU3054383", *masses, "28250")
    assert [one["id"] for one in wrong["findings"]] == ["mass.sum"]
    assert right["findings"] == []
    assert right["decoded"]["payload_kg"] == 28250


def test_check_pounds_are_compared_with_their_kilograms(bare_shell: CommandLine) -> None:
    (told,) = bare_shell.ask("check", "--tare-kg", "2230", "--tare-lb", "4000", status=1)
    assert told["mark"] is None
    assert [one["id"] for one in told["findings"]] == ["mass.pair-tare"]


def test_check_size_type_alone_is_decoded(bare_shell: CommandLine) -> None:
    (told,) = bare_shell.ask("check", "--size-type", "22g1")
    assert told["decoded"]["size_type"]["code"] == "22G1"


def test_check_table_says_what_is_wrong_and_what_it_may_be(bare_shell: CommandLine) -> None:
    result = bare_shell.run("check", "CSQU3054384")
    assert result.exit_code == 1
    assert "but 3 belongs to its letters" in result.stdout
    assert "It may be CSQU3054383." in result.stdout


def test_check_input_shows_those_in_doubt_and_counts_all(bare_shell: CommandLine) -> None:
    result = bare_shell.run("check", given="CSQU3054383\n\nCSQU3054384\nTASU1170000\n")
    assert result.exit_code == 1
    lines = result.stdout.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("CSQU3054384\tdoubt: ")
    assert lines[1] == "3 marks: 2 fine, 1 in doubt."


def test_check_input_as_json_is_one_array_in_order(bare_shell: CommandLine) -> None:
    told = bare_shell.ask("check", given="CSQU3054383\nCSQU3054384\nTASU1170000\n", status=1)
    assert [one["mark"] for one in told] == ["CSQU3054383", "CSQU3054384", "TASU1170000"]
    assert bare_shell.ask("check", given="") == []


def test_check_input_is_read_with_readings_when_a_dash_says_so(bare_shell: CommandLine) -> None:
    told = bare_shell.ask("check", "-", "--size-type", "22G1", given="CSQU3054383\nTASU1170000\n")
    assert [one["decoded"]["size_type"]["code"] for one in told] == ["22G1", "22G1"]


@pytest.mark.parametrize("text", ["CSQU3054383", "csqu 305438 3", "TASU-117000-0", "CSQJ3054382"])
def test_many_marks_are_told_exactly_as_one_is(text: str) -> None:
    (told,) = check_many([text])
    written = told if isinstance(told, bytes) else orjson.dumps(told.told())
    assert json.loads(written) == json.loads(orjson.dumps(judge_painted(text, Beside()).told()))


@pytest.mark.parametrize(
    "words",
    [("--gross-kg", "-1"), ("--gross-kg", "30480.5"), ("--tare-lb", "x"), ("--colour", "x")],
)
def test_check_wrong_usage_has_status_two(bare_shell: CommandLine, words: tuple[str, ...]) -> None:
    result = bare_shell.run("check", "CSQU3054383", *words)
    assert result.exit_code == 2
    assert result.stdout == ""
