"""The location grid: parse, write back, describe, and count sections."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.damage_locations import (
    DamageLocation,
    DamageLocationError,
    find_section_count,
    parse_location,
)
from shared.table_files import Certainty


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("LB24", "left side, bottom half, sections 2 to 4 from the doors"),
        ("RT3N", "right side, top half, section 3 from the doors"),
        ("DX1N", "door end, both halves, section 1 from the left"),
        ("FB12", "front end, bottom half, sections 1 to 2 from the left"),
        ("TL10", "roof, left half, sections 1 to 10 from the doors"),
        ("UR0N", "understructure, right half, section 10 from the doors"),
        ("LHXX", "left side, upper member"),
        ("RG1N", "right side, lower member, section 1 from the doors"),
        # Whole codes: an X leaves its place undivided.
        ("XXXX", "whole container"),
        ("IXXX", "interior, both halves"),
    ],
)
def test_parse_location_describes_and_writes_back(code: str, words: str) -> None:
    location = parse_location(code)
    assert location.describe() == words
    assert str(location) == code


def test_parse_location_takes_any_case_and_spacing() -> None:
    assert str(parse_location(" l b 2 4 ")) == "LB24"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("LB2", "four characters"),
        ("LB245", "four characters"),
        ("L\u00df24", "four characters"),
        ("QB24", "Q is no face"),
        ("LL24", "L is no part of the left side"),
        ("TT24", "T is no part of the roof"),
        ("BB24", "B is no part of the floor"),
        ("LB42", "do not run upwards"),
        ("LB22", "do not run upwards"),
        ("LB01", "do not run upwards"),
        ("LBN1", "names no sections"),
        ("LB2X", "names no sections"),
        ("LBX2", "names no sections"),
        ("LBNN", "names no sections"),
    ],
)
def test_parse_location_wrong_says_which_character(text: str, fault: str) -> None:
    with pytest.raises(DamageLocationError, match=fault) as caught:
        parse_location(text)
    assert caught.value.text == text
    assert caught.value.expected


@pytest.mark.parametrize(
    ("code", "length_ft", "beyond"),
    [
        ("LB5N", 20, False),
        ("LB46", 20, True),
        ("LB6N", 20, True),
        ("TL3N", 10, False),
        ("TL4N", 10, True),
        ("TX0N", 40, False),
        ("UX9N", 30, True),
        ("BX8N", 30, False),
        ("DX4N", 20, False),
        ("DX5N", 40, True),
        ("FX45", 45, True),
        ("LB9N", 45, False),
        ("LBXX", 20, False),
        ("XX0N", 20, False),
    ],
)
def test_location_is_beyond_the_sections_of_its_length(
    code: str, length_ft: int, beyond: bool
) -> None:
    assert parse_location(code).is_beyond(length_ft) is beyond


def test_section_count_carries_its_certainty_and_is_open_for_45_ft() -> None:
    along = find_section_count("L", 20)
    assert along is not None
    assert (along.sections, along.certainty) == (5, Certainty.MEMORY)
    assert find_section_count("L", 45) is None
    assert find_section_count("I", 20) is None


@given(st.text(alphabet="RLTBFDUXIEHGN0123456789", min_size=4, max_size=4))
@settings(max_examples=400, derandomize=True, deadline=None)
def test_parse_location_is_stable_or_raises_the_clear_error(text: str) -> None:
    location = _parse_or_fault(text)
    if isinstance(location, DamageLocationError):
        assert location.text == text
        assert location.remedy
    else:
        assert str(location) == text
        assert parse_location(str(location)) == location
        assert location.describe()


def _parse_or_fault(text: str) -> DamageLocation | DamageLocationError:
    try:
        return parse_location(text)
    except DamageLocationError as fault:
        return fault
