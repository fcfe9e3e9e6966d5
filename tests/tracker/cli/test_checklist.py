import pytest

from tests.support.command_line import CommandLine, make_report

MARK = "ZZZU0000010"


@pytest.fixture
def with_unit(shell: CommandLine) -> CommandLine:
    arrival = make_report("gate-in", size_type="45G1", provenance="used", placards="UN 1090")
    shell.send(arrival)
    return shell


def test_checklist_json_has_unit_use_and_items_in_order(with_unit: CommandLine) -> None:
    told = with_unit.ask("checklist", MARK, "--for", "export")
    assert (told["mark"], told["size_type"], told["provenance"]) == (MARK, "45G1", "used")
    assert told["intended_use"] == "export"
    assert told["items"][0]["id"] == "air"
    assert told["items"][0]["known"][0] == "Seen on it: UN 1090."
    assert told["items"][-1]["answer"] == "plate"
    assert "height-marks" in [item["id"] for item in told["items"]]
    named = "id room answer words why caution expected lines known inside source certainty"
    assert set(told["items"][0]) == set(named.split())


def test_checklist_is_for_storage_unless_said(with_unit: CommandLine) -> None:
    told = with_unit.ask("checklist", MARK)
    assert told["intended_use"] == "storage"
    assert "height-marks" not in [item["id"] for item in told["items"]]


def test_checklist_for_people_goes_room_by_room_and_says_each_caution_once(
    with_unit: CommandLine,
) -> None:
    result = with_unit.run("checklist", MARK)
    text = result.stdout
    assert result.exit_code == 0
    headings = [line for line in text.splitlines() if line.isupper()]
    assert headings == [
        "BEFORE GOING IN", "OUTSIDE", "UNDERNEATH", "DOORS", "INSIDE", "MARKS", "PLATE"
    ]  # fmt: skip
    assert text.index("CAUTION: A closed unit may hold gas") < text.index("[floor]")
    assert text.count("CAUTION: A closed unit may hold gas") == 1
    assert "Usual: 40 ft units generally have no fork pockets now. (practice)" in text
    assert "Line: DATE MANUFACTURED (month and year)" in text


def test_checklist_of_an_unknown_unit_or_use_says_so(with_unit: CommandLine) -> None:
    unknown = with_unit.run("checklist", "ZZZU0000025")
    assert unknown.exit_code == 1
    assert "No unit is known" in unknown.stderr
    assert with_unit.run("checklist", MARK, "--for", "fun").exit_code == 2
