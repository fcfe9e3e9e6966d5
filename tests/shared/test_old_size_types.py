"""Numeric size-type codes from before 1996: what they suggest, and what is said to be lost."""

from __future__ import annotations

import pytest

from shared.old_size_types import OldSizeType, decode_old_size_type
from shared.size_types import decode_size_type, read_size_type
from shared.table_files import Certainty

MAPPINGS = {
    "2000": "20G0",
    "2010": "20G1",
    "2200": "22G0",
    "2210": "22G1",
    "4000": "40G0",
    "4200": "42G0",
    "4300": "42G0",
    "4210": "42G1",
    "4310": "42G1",
    "4400": "45G0",
    "4500": "45G0",
    "4410": "45G1",
    "4510": "45G1",
    "2232": "22R1",
    "4332": "42R1",
    "4532": "45R1",
    "2250": "22U0",
    "2251": "22U1",
    "4350": "42U0",
    "4351": "42U1",
    "2260": "22P0",
    "2261": "22P1",
    "2263": "22P3",
    "4361": "42P1",
    "4363": "42P3",
    **{f"227{digit}": f"22T{digit}" for digit in range(10)},
}


@pytest.mark.parametrize(("old", "new"), MAPPINGS.items())
def test_old_code_suggests_a_code_of_today_and_stays_old(old: str, new: str) -> None:
    found = read_size_type(old)
    assert isinstance(found, OldSizeType)
    assert (found.code, found.suggested) == (old, new)
    assert decode_size_type(new).code == new


def test_old_code_every_suggestion_decodes_today() -> None:
    suggested = set()
    for length in "1234":
        for height in "0123456789":
            for kind in range(100):
                found = decode_old_size_type(f"{length}{height}{kind:02d}")
                if found.suggested is not None:
                    suggested.add(found.suggested)
    assert len(suggested) > 100
    assert {decode_size_type(code).code for code in suggested} == suggested


@pytest.mark.parametrize("height", "13579")
def test_old_code_with_a_tunnel_says_that_it_is_lost(height: str) -> None:
    found = decode_old_size_type(f"4{height}10")
    tunnel = height != "9"
    assert found.has_tunnel is tunnel
    assert any("gooseneck tunnel" in loss for loss in found.losses) is tunnel


@pytest.mark.parametrize("height", "45")
def test_old_code_of_a_high_box_says_that_the_height_is_assumed(height: str) -> None:
    found = decode_old_size_type(f"4{height}00")
    assert (found.from_mm, found.to_mm) == (2592, None)
    assert any("measure it" in loss for loss in found.losses)
    assert found.is_over_8_ft_6_in


def test_old_code_of_a_standard_height_is_not_high() -> None:
    assert not decode_old_size_type("4300").is_over_8_ft_6_in
    assert not decode_old_size_type("4900").is_over_8_ft_6_in


@pytest.mark.parametrize("height", "67")
def test_old_code_of_a_height_that_today_has_none_suggests_nothing(height: str) -> None:
    found = decode_old_size_type(f"2{height}00")
    assert found.suggested is None
    assert any("no code for a height" in loss for loss in found.losses)


def test_old_code_falls_back_to_the_family_of_an_unknown_type() -> None:
    assert (decode_old_size_type("2228").suggested, decode_old_size_type("2219").suggested) == (
        "22BU",
        None,
    )
    assert "vented or ventilated" in decode_old_size_type("2219").type_text


def test_old_code_is_as_sure_as_its_least_sure_part() -> None:
    assert decode_old_size_type("2210").certainty is Certainty.ONE_TEXT
    assert decode_old_size_type("1210").certainty is Certainty.MEMORY
    assert decode_old_size_type("2431").certainty is Certainty.MEMORY
