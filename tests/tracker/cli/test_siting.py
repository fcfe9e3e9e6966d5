import json

import pytest
import typer
from typer.testing import CliRunner, Result

from tracker.cli.siting import siting


def run(*words: str) -> Result:
    app = typer.Typer()
    app.command()(siting)
    return CliRunner().invoke(app, words)


def squeeze(text: str) -> str:
    """Return the text with its line breaks and indents as single blanks."""
    return " ".join(text.replace("│", " ").split())


def test_sheet_shows_results_formulas_sources_assumptions_and_caution() -> None:
    result = run(
        *("--mass", "30480", "--soil", "firm-clay", "--soil-table", "bs-8004", "--pad", "300")
    )
    text = squeeze(result.stdout)
    assert result.exit_code == 0
    assert "Load per corner, four equal: 74.73 kN F = m · g / 4 mechanics (derived)" in text
    assert "Pressure under a bare fitting, four equal: 2 591 kPa" in text
    assert "Pressure under the pad, four equal: 830.3 kPa" in text
    assert "BS 8004:1986 Table 1 (since replaced) (one text)" in text
    assert "Side of the pad to make: 1 150 mm" in text
    assert text.index("Given") < text.index("Results") < text.index("Assumptions")
    assert "A competent person decides" in text[text.index("Caution") :]


def test_sheet_indents_results_under_their_heading_and_formulas_under_their_result() -> None:
    lines = [line.rstrip() for line in run("--mass", "2300").stdout.splitlines()]
    assert lines[:8] == [
        "SITING OF A UNIT ON ITS FOUR CORNERS",
        "",
        "Given",
        "  Gross mass: 2 300 kg",
        "",
        "Results",
        "  Load per corner, four equal: 5.639 kN",
        "      F = m · g / 4",
    ]
    assert lines[8] == "      mechanics (derived)"


def test_json_is_one_object_with_the_same_numbers() -> None:
    result = run("--mass", "2300", "--json")
    sheet = json.loads(result.stdout)
    assert result.exit_code == 0
    assert sheet["lines"][0]["unit"] == "kN"
    assert sheet["lines"][0]["value"] == pytest.approx(5.64, abs=0.005)
    assert sheet["cautions"]


def test_stack_is_given_by_one_option_per_unit_above() -> None:
    result = run("--mass", "20000", "--above", "2300", "--above", "2400", "--json")
    assert [given["value"] for given in json.loads(result.stdout)["inputs"]] == [20000, 2300, 2400]


def test_levels_may_begin_below_the_mark() -> None:
    result = run("--mass", "2300", "--levels", "-2,0,3,5", "--length", "20", "--json")
    packing = [
        line["value"]
        for line in json.loads(result.stdout)["lines"]
        if line["name"].startswith("Packing")
    ]
    assert packing == [7, 5, 2, 0]


def test_tested_bearing_value_stands_in_for_a_soil() -> None:
    result = run("--mass", "30480", "--bearing", "150", "--json")
    lines = {line["name"]: line for line in json.loads(result.stdout)["lines"]}
    assert lines["Side of the pad to make"]["value"] == 800


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "--mass"),
        (("--mass", "0"), "gross mass cannot be 0 kg"),
        (("--mass", "30480.5"), "as an integer"),
        (("--mass", "2300", "--soil", "firm-clay"), "--soil-table"),
        (("--mass", "2300", "--soil-table", "canada"), "loose-gravel"),
        (("--mass", "2300", "--soil-table", "canada", "--soil", "mud"), "dense-gravel"),
        (("--mass", "2300", "--soil-table", "moon", "--soil", "peat"), "moon"),
        (("--mass", "2300", "--soil-table", "bs-8004", "--soil", "soft-clay"), "less than 75 kPa"),
        (("--mass", "2300", "--bearing", "90", "--soil-table", "canada"), "not both"),
        (("--mass", "2300", "--bearing", "nan"), "bearing value cannot be nan kPa"),
        (("--mass", "2300", "--levels", "1,2,3"), "four numbers"),
        (("--mass", "2300", "--levels", "1,2,3,x"), "four numbers"),
        (("--mass", "2300", "--length", "25"), "25 ft"),
    ],
)
def test_wrong_usage_ends_with_status_two_and_says_what_is_expected(
    words: tuple[str, ...], says: str
) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert says in squeeze(result.stderr)
