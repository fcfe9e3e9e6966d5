from pathlib import Path

import pytest

from shared.serials import marks_from
from tests.support.command_line import CommandLine, make_report
from tests.support.marks import make_mark

FIRST = make_mark("ZZZU300001")
WHO = ("--batch", "B-1", "--depot", "NORTH", "--by", "Ada Quill")


def test_sequence_is_announced_with_what_all_share(shell: CommandLine) -> None:
    told = shell.ask(
        *("pre-advise", "--from", FIRST, "--count", "3", *WHO, "--tare-kg", "2230"),
        *("--size-type", "22G1", "--manufactured-in", "2026-01", "--supplier", "Farline Works"),
    )
    assert [(one["line"], one["verdict"]) for one in told] == [(n, "recorded") for n in (1, 2, 3)]
    for mark in marks_from(FIRST, 3):
        record = shell.ask("unit", mark)["record"]
        assert (record["batch"], record["presence"], record["tare_kg"]) == ("B-1", "expected", 2230)
        assert (record["size_type"], record["manufactured_in"]) == ("22G1", "2026-01")
        assert record["whereabouts"] == "Farline Works"


def test_lines_of_a_file_go_before_what_all_share(shell: CommandLine, tmp_path: Path) -> None:
    file = tmp_path / "marks.csv"
    one, two = marks_from(FIRST, 2)
    file.write_text(f"mark;colour;masses.tare_kg\n{one};blue;2300\n\n{two};;\n", encoding="utf-8")
    told = shell.ask("pre-advise", str(file), *WHO, "--colour", "grey", "--tare-kg", "2230")
    assert [told_["verdict"] for told_ in told] == ["recorded"] * 2
    records = [shell.ask("unit", mark)["record"] for mark in (one, two)]
    assert [(record["colour"], record["tare_kg"]) for record in records] == [
        ("blue", 2300),
        ("grey", 2230),
    ]


def test_mark_that_cannot_be_is_said_with_its_line(shell: CommandLine, tmp_path: Path) -> None:
    file = tmp_path / "marks.csv"
    wrong = FIRST[:10] + str((int(FIRST[10]) + 1) % 10)
    file.write_text(f"mark\n{wrong}\n", encoding="utf-8")
    result = shell.run("pre-advise", str(file), *WHO)
    assert "1 of 1 announced as B-1." in result.stdout
    assert wrong in result.stdout
    assert f"but {FIRST[10]} belongs to its letters" in result.stdout


@pytest.mark.parametrize(
    "words",
    [(), ("{file}", "--from", FIRST), ("{file}",), ("--from", FIRST, "--count", "0")],
    ids=["neither", "both", "no column", "none"],
)
def test_wrong_usage_announces_nothing(
    shell: CommandLine, tmp_path: Path, words: tuple[str, ...]
) -> None:
    file = tmp_path / "marks.csv"
    file.write_text("number\n1\n", encoding="utf-8")
    given = [word.replace("{file}", str(file)) for word in words]
    assert shell.run("pre-advise", *given, *WHO).exit_code == 2
    assert "No report names the batch" in shell.run("batch", "B-1").stderr


def test_sequence_from_a_wrong_digit_is_refused_before_anything_is_announced(
    shell: CommandLine,
) -> None:
    wrong = FIRST[:10] + str((int(FIRST[10]) + 1) % 10)
    result = shell.run("pre-advise", "--from", wrong, "--count", "3", *WHO)
    assert result.exit_code == 1
    assert "The check digit of" in result.stderr
    assert "No report names the batch" in shell.run("batch", "B-1").stderr


def test_batch_that_all_came_as_announced_is_well(shell: CommandLine) -> None:
    shell.ask("pre-advise", "--from", FIRST, "--count", "2", *WHO)
    marks = marks_from(FIRST, 2)
    shell.send(
        *(make_report("gate-in", mark, happened_at="2026-03-02T08:00:00Z") for mark in marks)
    )
    told = shell.ask("batch", "B-1")
    assert told["counts"]["arrived"] == 2
    words = shell.run("batch", "B-1").stdout
    assert "2 announced, 2 arrived, 0 missing, 0 unexpected, 0 otherwise" in words
    unknown = shell.run("batch", "B-9")
    assert unknown.exit_code == 1
    assert "No report names the batch 'B-9'" in unknown.stderr
