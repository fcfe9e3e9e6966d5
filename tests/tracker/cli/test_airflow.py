import json

import pytest
import typer
from typer.testing import CliRunner, Result

from tracker.cli.airflow import airflow

ROOM = ("--volume", "33.2", "--changes", "2.6", "--louvre", "500x250", "--ratio", "0.4")
WARM = ("--inside", "30", "--outside", "20")


def run(*words: str) -> Result:
    app = typer.Typer()
    app.command()(airflow)
    return CliRunner().invoke(app, words)


def squeeze(text: str) -> str:
    """Return the text with its line breaks and indents as single blanks."""
    return " ".join(text.replace("│", " ").split())


def test_sheet_shows_results_formulas_sources_assumptions_and_cautions() -> None:
    result = run(*ROOM, *WARM, "--height", "2", "--small-vents", "4")
    text = squeeze(result.stdout)
    assert result.exit_code == 0
    assert "Stack flow of one pair: 0.02474 m³/s Q = 0.61 · A · √(2 · Δθ · g · H / θ̄)" in text
    assert "BS 5925 clause 12 (memory)" in text
    assert "Louvres needed: 2 " in text
    assert "Small vents: 4" in text
    assert "Free area counted for small vents: 0 m²" in text
    assert "Air changes with them: 2.683 per hour" in text
    assert "ask the approving body first" in text[text.index("Caution") :]


def test_json_is_one_object_with_the_same_numbers() -> None:
    words = (*ROOM, "--wind", "3", "--pressure-difference", "0.9", "--json")
    result = run(*words)
    lines = {line["name"]: line for line in json.loads(result.stdout)["lines"]}
    assert result.exit_code == 0
    assert lines["Wind flow of one pair"]["value"] == pytest.approx(0.06138, abs=5e-6)
    assert lines["Louvres needed"]["value"] == 2


def test_louvres_in_one_side_need_neither_height_nor_coefficients() -> None:
    result = run(*ROOM, *WARM, "--wind", "2", "--arrangement", "single-sided", "--json")
    lines = {line["name"]: line for line in json.loads(result.stdout)["lines"]}
    assert result.exit_code == 0
    assert lines["Wind flow of one louvre"]["value"] == pytest.approx(0.0025)


def test_ratio_left_out_is_the_low_end() -> None:
    words = ("--volume", "33", "--changes", "2", "--louvre", "500X200", *WARM, "--height", "2")
    result = run(*words, "--json")
    lines = {line["name"]: line for line in json.loads(result.stdout)["lines"]}
    assert lines["Free area of one louvre"]["value"] == pytest.approx(0.03)
    assert json.loads(result.stdout)["inputs"][-1] == {
        "name": "Small vents",
        "value": 0,
        "unit": "",
    }


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (ROOM, "Nothing moves the air"),
        ((*ROOM, "--wind", "3"), "pressure coefficients"),
        ((*ROOM, *WARM), "height from the low to the high louvres"),
        ((*ROOM, "--inside", "30"), "go together"),
        ((*ROOM, "--outside", "30"), "go together"),
        ((*ROOM, "--wind", "3", "--pressure-difference", "0.9", "--height", "2"), "--inside"),
        ((*ROOM, *WARM, "--pressure-difference", "0.9"), "needs --wind"),
        ((*ROOM, *WARM, "--height", "nan"), "height between the louvres cannot be nan m"),
        ((*ROOM, *WARM, "--height", "2", "--louvre", "500"), "300x200"),
        ((*ROOM, *WARM, "--height", "2", "--louvre", "axb"), "300x200"),
        ((*ROOM, *WARM, "--height", "2", "--ratio", "1.2"), "free-area ratio cannot be 1.2"),
        ((*ROOM, *WARM, "--height", "2", "--arrangement", "roof"), "roof"),
        (ROOM[2:], "--volume"),
    ],
)
def test_wrong_usage_ends_with_status_two_and_says_what_is_expected(
    words: tuple[str, ...], says: str
) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert says in squeeze(result.stderr)
