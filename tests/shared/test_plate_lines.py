"""The lines of the plate in both wordings, against the fields of a reading."""

import pytest

from schemas.readings import PlateReading
from shared.plate_lines import PLATE_LINES, Wording, find_line, title_of_field
from shared.table_files import Certainty


def test_lines_fill_every_field_of_a_reading_but_who_looked_and_its_photo() -> None:
    filled = {field for line in PLATE_LINES for field in line.fields + line.fields_before_2014}
    assert filled == set(PlateReading.model_fields) - {"no_plate", "seen_by", "photo"}


def test_lines_stand_in_the_order_of_the_plate() -> None:
    assert [line.number for line in PLATE_LINES] == [
        "title", "1", "2", "3", "4", "5", "6", "7", "8", "9", "one door off", "one door off"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("title", "number"),
    [
        ("maximum operating gross mass", "4"),
        ("MAXIMUM GROSS  WEIGHT", "4"),
        ("Allowable stacking load for 1.8 g", "5"),
        ("Allowable stacking weight for 1.8 g", "5"),
        ("TRANSVERSE RACKING TEST FORCE", "6"),
        ("Racking test load value", "6"),
        ("CSC safety approval", "title"),
    ],
)
def test_a_line_is_found_in_either_wording(title: str, number: str) -> None:
    line = find_line(title)
    assert line is not None
    assert line.number == number


@pytest.mark.parametrize("title", ["", "  ", "MAXIMUM LOAD"])
def test_an_unknown_title_is_no_line(title: str) -> None:
    assert find_line(title) is None


def test_racking_has_a_field_of_its_own_on_older_plates() -> None:
    assert title_of_field("racking_n", Wording.SINCE_2014) == "TRANSVERSE RACKING TEST FORCE"
    assert title_of_field("racking_kg", Wording.BEFORE_2014) == "RACKING TEST LOAD VALUE"
    assert title_of_field("racking_kg", Wording.SINCE_2014) is None


@pytest.mark.parametrize("wording", Wording)
def test_gross_and_stacking_have_a_title_in_every_wording(wording: Wording) -> None:
    for field in ("gross_kg", "gross_lb", "stacking_kg", "stacking_lb"):
        assert title_of_field(field, wording)
    assert title_of_field("approval_reference", wording) == ""


def test_a_line_from_memory_says_so() -> None:
    unsure = {line.number for line in PLATE_LINES if line.certainty is Certainty.MEMORY}
    assert unsure == {"one door off"}
