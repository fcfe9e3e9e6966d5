import csv
from pathlib import Path

import pytest

from tests.support.command_line import SOUND_MASSES, CommandLine, make_report

MARK = "ZZZU0000010"


@pytest.fixture
def with_unit(shell: CommandLine) -> CommandLine:
    shell.send(
        make_report("gate-in", masses=SOUND_MASSES, slot="A1", size_type="22G1"),
        make_report("restow", slot="B2", happened_at="2026-03-02T07:30:00Z"),
    )
    return shell


def test_unit_json_has_the_names_that_others_rely_on(with_unit: CommandLine) -> None:
    told = with_unit.ask("unit", "zzzu 000001 0")
    record, history = told["record"], told["history"]
    named = (
        "mark marks presence depot slot size_type gross_kg tare_kg payload_kg next_examination "
        "approval condition fittings sale questions alerts"
    )
    assert set(named.split()) <= set(record)
    assert (record["presence"], record["slot"], record["payload_kg"]) == ("in-depot", "B2", 28250)
    assert [(row["seq"], row["kind"]) for row in history] == [(1, "gate-in"), (2, "restow")]
    in_a_row = "seq id kind happened_at recorded_at reported_by findings digest"
    assert set(in_a_row.split()) <= set(history[0])
    assert history[0]["reported_by"] == "Ada Quill"


def test_unit_as_of_a_moment_is_as_it_was(with_unit: CommandLine) -> None:
    told = with_unit.ask("unit", MARK, "--as-of", "2026-03-02T08:15:00+01:00")
    assert told["record"]["slot"] == "A1"
    assert [row["kind"] for row in told["history"]] == ["gate-in"]


def test_unit_known_at_a_moment_before_it_was_reported_is_unknown(with_unit: CommandLine) -> None:
    result = with_unit.run("unit", MARK, "--known-at", "2026-03-02T07:59:59Z")
    assert result.exit_code == 1
    assert f"No unit is known by '{MARK}'" in result.stderr
    known = with_unit.ask("unit", MARK, "--known-at", "2026-03-02T08:00:00Z")
    assert known["record"]["slot"] == "B2"


def test_unit_table_shows_record_and_history(with_unit: CommandLine) -> None:
    result = with_unit.run("unit", MARK)
    text = result.stdout
    assert result.exit_code == 0
    assert text.index("Presence") < text.index("in-depot") < text.index("gate-in")
    assert "2026-03-02 07:30" in text


@pytest.mark.parametrize(
    ("terms", "said"),
    [
        ({"price": "1450"}, "1450.00 EUR net, tax 0.00 (0 %), 1450.00 to be paid"),
        ({"price": "1450", "untaxed_because": "export"}, "1450.00 EUR net, no tax: export"),
        ({}, "to Ada Quill for storage, paid\n"),
    ],
)
def test_unit_says_what_it_was_sold_for(
    with_unit: CommandLine, terms: dict[str, str], said: str
) -> None:
    deal = {"buyer": "Ada Quill", "intended_use": "storage", "paid": True}
    with_unit.send(make_report("sale", **deal, **terms))
    assert said in with_unit.run("unit", MARK).stdout


def test_unit_shows_what_is_not_judged_yet(with_unit: CommandLine) -> None:
    event = make_report("sighting", slot="C3")
    with_unit.ask("send", "-", given=str(event).replace("'", '"'))
    told = with_unit.ask("unit", MARK)
    assert [(one["id"], one["state"]) for one in told["apart"]] == [(event["id"], "waiting")]
    assert "Not yet in its history" in with_unit.run("unit", MARK).stdout


@pytest.mark.parametrize(
    ("moment", "says"),
    [("2026-03-02T08:00", "no zone"), ("2026-03-02", "no zone"), ("yesterday", "is no moment")],
)
@pytest.mark.parametrize("option", ["--as-of", "--known-at"])
def test_unit_moment_without_zone_is_wrong_usage(
    shell: CommandLine, option: str, moment: str, says: str
) -> None:
    result = shell.run("unit", MARK, option, moment)
    assert result.exit_code == 2
    assert says in " ".join(result.stderr.replace("│", " ").split())


def test_unit_nobody_knows_has_status_one_and_no_traceback(shell: CommandLine) -> None:
    result = shell.run("unit", "ZZZU9999999", "--json")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.startswith("hardstand: No unit is known by 'ZZZU9999999'.")


def test_may_leave_names_every_hindrance_until_released(with_unit: CommandLine) -> None:
    told = with_unit.ask("may-leave", MARK, status=1)
    assert told["mark"] == MARK
    assert told["may_leave"] is False
    assert [one["id"] for one in told["findings"]] == ["clearance.no-release", "release.not-sold"]
    with_unit.send(
        make_report("sale", buyer="Bo Thorn", intended_use="storage", paid=True),
        make_report("release", reference="K7Q2M9"),
    )
    assert with_unit.ask("may-leave", MARK)["may_leave"] is True
    assert f"{MARK} may leave." in with_unit.run("may-leave", MARK).stdout
    wrong = with_unit.ask("may-leave", MARK, "--reference", "NOPE", status=1)
    assert [one["id"] for one in wrong["findings"]] == ["clearance.wrong-reference"]


def test_may_leave_of_a_unit_nobody_knows_has_status_one(shell: CommandLine) -> None:
    assert shell.run("may-leave", "ZZZU9999999").exit_code == 1


def test_stock_and_history_are_written_as_csv(with_unit: CommandLine, tmp_path: Path) -> None:
    with_unit.send(make_report("gate-in", "ZZZU0000027", depot="SOUTH", colour="@red"))
    out = tmp_path / "out.csv"

    def written(*words: str) -> list[dict[str, str]]:
        assert with_unit.run(*words, "--csv", str(out)).exit_code == 0
        with out.open(encoding="utf-8-sig", newline="") as file:
            return list(csv.DictReader(file))

    listed = written("stock")
    assert [(row["mark"], row["colour"]) for row in listed] == [
        (MARK, ""),
        ("ZZZU0000027", "'@red"),
    ]
    assert [row["mark"] for row in written("stock", "--depot", "SOUTH")] == ["ZZZU0000027"]
    assert [row["kind"] for row in written("unit", MARK)] == ["gate-in", "restow"]
    nowhere = with_unit.run("stock", "--csv", str(tmp_path / "no" / "out.csv"))
    assert nowhere.exit_code == 2
    assert "cannot be written" in nowhere.stderr


def test_stock_is_filtered(with_unit: CommandLine) -> None:
    with_unit.send(
        make_report("gate-in", "ZZZU0000027", depot="SOUTH"),
        make_report("pre-advice", "ZZZU0000031", batch="B1"),
    )
    assert [one["mark"] for one in with_unit.ask("stock")] == [MARK, "ZZZU0000027", "ZZZU0000031"]

    def listed(*words: str) -> list[str]:
        return [one["mark"] for one in with_unit.ask("stock", *words)]

    assert listed("--depot", "SOUTH") == ["ZZZU0000027"]
    assert listed("--presence", "expected") == ["ZZZU0000031"]
    assert listed("--size-type", "22G1") == [MARK]
    assert listed("--questions") == ["ZZZU0000027"]
    assert listed("--no-questions") == [MARK, "ZZZU0000031"]
    assert listed("--mark-state", "in-question") == ["ZZZU0000027"]
    assert listed("--begins", "ZZZU00000") == [MARK, "ZZZU0000027", "ZZZU0000031"]
    assert listed("--limit", "1") == [MARK]
    assert listed("--stands", "sold") == []
    text = with_unit.run("stock").stdout
    assert "ZZZU0000027 ?" in text
    assert "3 units." in text


def test_stock_day_that_is_none_is_wrong_usage(shell: CommandLine) -> None:
    assert shell.run("stock", "--examination-before", "2026-13-01").exit_code == 2
    assert shell.ask("stock", "--examination-before", "2026-12-01") == []


def test_moments_are_told_in_the_time_of_the_depot_and_the_zone_is_named(
    shell: CommandLine,
) -> None:
    assert shell.run("depot", "set", "NORTH", "North", "Asia/Kathmandu").exit_code == 0
    shell.send(
        make_report("gate-in", happened_at="2026-03-01T23:00:00Z"),
        make_report("gate-in", happened_at="2026-03-02T07:00:00Z"),
    )
    told = " ".join(shell.run("unit", MARK).output.split())
    assert "1 2026-03-02 04:45 gate-in" in told
    assert f"{MARK} since 2026-03-02" in told
    assert "2 Mar 2026, 04:45 (Asia/Kathmandu)" in told, "a question quotes a moment, too"
    assert "Times are those of the depot: NORTH Asia/Kathmandu." in told
    assert "UTC" not in told
    asked = " ".join(shell.run("questions").output.split())
    assert "(Asia/Kathmandu)" in asked
    history = shell.ask("unit", MARK)["history"]
    assert history[0]["effective_at"].startswith("2026-03-01T23:00")
