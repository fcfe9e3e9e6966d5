import json

import pytest

from shared.figures import FigureMissingError, get_figure
from shared.quantities import QuantityError, require_between
from shared.siting_sheet import SitingCase, work_out_siting
from shared.table_files import Certainty
from shared.worksheets import format_value, weakest


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (30_480, "kg", "30 480 kg"),
        (74.7267, "kN", "74.73 kN"),
        (2591.4, "kPa", "2 591 kPa"),
        (-1234.6, "mm", "-1 235 mm"),
        (1000.0, "mm", "1 000 mm"),
        (999.94, "mm", "999.9 mm"),
        (0.05, "per hour", "0.05 per hour"),
        (0.024741, "m³/s", "0.02474 m³/s"),
        (0.3, "", "0.3"),
        (0, "m²", "0 m²"),
        ("firm clay", "", "firm clay"),
    ],
)
def test_value_is_written_to_four_figures_with_its_unit(
    value: float | str, unit: str, text: str
) -> None:
    assert format_value(value, unit) == text


@pytest.mark.parametrize("certainty", Certainty)
def test_weakest_of_a_certainty_and_practice_is_practice(certainty: Certainty) -> None:
    assert weakest((certainty, Certainty.PRACTICE)) is Certainty.PRACTICE
    assert weakest((Certainty.READ, certainty)) is certainty


def test_worksheet_as_json_holds_numbers_words_and_certainties() -> None:
    sheet = work_out_siting(SitingCase((30_480,)))
    back = json.loads(json.dumps(sheet.to_json()))
    assert back["inputs"] == [{"name": "Gross mass", "value": 30_480, "unit": "kg"}]
    assert back["lines"][1]["certainty"] == "practice"
    assert back["lines"][0]["value"] == pytest.approx(74.7267, abs=1e-4)
    assert back["cautions"] == list(sheet.cautions)


def test_quantity_at_its_bounds_passes_and_beyond_tells_them() -> None:
    assert require_between("The wind", 60, "m/s", 0, 60) == 60
    assert require_between("The wind", 0, "m/s", 0, 60) == 0
    with pytest.raises(QuantityError) as fault:
        require_between("The wind", 60.5, "m/s", 0, 60)
    assert str(fault.value).startswith("The wind cannot be 60.5 m/s. Expected 0 to 60 m/s.")
    assert (fault.value.value, fault.value.bounds) == (60.5, (0, 60))


def test_figure_that_a_table_lacks_is_named() -> None:
    with pytest.raises(FigureMissingError, match="weight-of-air"):
        get_figure("airflow_figures", "weight-of-air")
