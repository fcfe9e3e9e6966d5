"""Size-type codes and dimensions against values that others published."""

from __future__ import annotations

import pytest

from shared.damage import DamageKind, iso_9897_letters
from shared.dimensions import Quantity, dimensions_of
from shared.old_size_types import OldSizeType
from shared.size_types import SizeType, read_size_type

MM_PER_INCH = 25.4


def new(code: str) -> SizeType:
    found = read_size_type(code)
    assert isinstance(found, SizeType)
    return found


def old(code: str) -> OldSizeType:
    found = read_size_type(code)
    assert isinstance(found, OldSizeType)
    return found


def test_22g1_is_20_ft_8_ft_6_in_general_purpose_with_passive_vents() -> None:
    # A public page that reproduces the layout figures of ISO 6346 (beside ABZU 001234 3), and the
    # tables of the BIC size-type leaflet.
    size_type = new("22G1")
    assert (size_type.length.words, size_type.height.words) == ("20 ft", "8 ft 6 in")
    assert "passive vents at the upper part" in size_type.meanings[0].text


def test_45g1_is_40_ft_9_ft_6_in_general_purpose_with_passive_vents() -> None:
    # BIC size-type leaflet, tables 1 and 2: 4 = 12 192 mm, 5 = 2 895 mm; ISO 6346:1995 Annex D.
    size_type = new("45G1")
    assert (size_type.length.mm, size_type.height.mm) == (12192, 2895)
    assert size_type.meanings[0].detail == "G1"


def test_l5g1_is_45_ft() -> None:
    # BIC size-type leaflet, table 1: L = 13 716 mm. One public page lists it under 5: wrong.
    assert new("L5G1").length.words == "45 ft"


def test_22gb_is_a_22g1_of_reduced_strength() -> None:
    # ISO 6346:1995/Amd 3:2012, table copy for groups G, V, B, S: 1 becomes B; the BIC page: a
    # letter in the fourth position means reduced strength.
    (meaning,) = new("22GB").meanings
    assert (meaning.detail, meaning.reduced) == ("G1", True)


@pytest.mark.parametrize(
    ("letter", "detail"), [("A", "G0"), ("B", "G1"), ("D", "G2"), ("G", "G3"), ("Y", "G9")]
)
def test_reduced_letters_run_a_b_d_g_j_m_v_w_x_y(letter: str, detail: str) -> None:
    # ISO 6346:1995/Amd 3:2012, table copy.
    assert [meaning.detail for meaning in new(f"22G{letter}").meanings] == [detail]


def test_2210_is_20_ft_8_ft_6_in_closed_with_passive_vents() -> None:
    # Public legacy table of numeric codes.
    found = old("2210")
    assert (found.length_ft, found.height, found.has_tunnel) == (20, "8 ft 6 in", False)
    assert found.type_text == "closed, passive vents"


def test_4310_is_40_ft_8_ft_6_in_with_tunnel_and_vents() -> None:
    # Public legacy table of numeric codes.
    found = old("4310")
    assert (found.length_ft, found.height, found.has_tunnel) == (40, "8 ft 6 in", True)
    assert found.type_text == "closed, passive vents"


def test_4510_is_40_ft_higher_than_8_ft_6_in_with_tunnel_and_vents() -> None:
    # Public legacy table of numeric codes.
    found = old("4510")
    assert (found.length_ft, found.height, found.has_tunnel) == (40, "over 8 ft 6 in", True)
    assert found.type_text == "closed, passive vents"


@pytest.mark.parametrize(("code", "ends"), [("4363", "complete ends"), ("4364", "posts")])
def test_4363_and_4364_are_folding_platforms_of_40_ft_with_tunnel(code: str, ends: str) -> None:
    # Cargo insurers' container handbook, section 3.4.
    found = old(code)
    assert (found.length_ft, found.height, found.has_tunnel) == (40, "8 ft 6 in", True)
    assert "folding" in found.type_text
    assert found.type_text.endswith(ends)


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        ("00", "closed"),
        ("01", "openings in sides and/or roof"),
        ("02", "partial side opening"),
        ("03", "opening roof"),
        ("11", "closed, passive vents"),
        ("13", "closed, ventilated"),
    ],
)
def test_two_digit_types_of_closed_boxes(pair: str, words: str) -> None:
    # AS 3711.1:2015 (ISO 668:2013), clause 5.3.2.
    assert old(f"22{pair}").type_text == words


@pytest.mark.parametrize(
    ("designation", "quantity", "feet", "inches"),
    [
        ("1AA", Quantity.INTERNAL_LENGTH, 39, 4.375),
        ("1CC", Quantity.INTERNAL_LENGTH, 19, 3),
        ("1CC", Quantity.INTERNAL_WIDTH, 7, 7.75),
        ("1A", Quantity.INTERNAL_HEIGHT, 7, 2.5),
        ("1AA", Quantity.INTERNAL_HEIGHT, 7, 8.5),
        ("1AAA", Quantity.INTERNAL_HEIGHT, 8, 8.5),
        ("1CC", Quantity.DOOR_WIDTH, 7, 6),
        ("1C", Quantity.DOOR_HEIGHT, 7, 0),
        ("1CC", Quantity.DOOR_HEIGHT, 7, 5),
        ("1AAA", Quantity.DOOR_HEIGHT, 8, 5),
    ],
)
def test_minimum_inside_and_door_openings_in_feet_and_inches(
    designation: str, quantity: Quantity, feet: int, inches: float
) -> None:
    # A published table that quotes ISO 668 and ISO 1496-1 in feet and inches; it rounds to 1/16 in.
    assert dimensions_of(designation)[quantity].mm == pytest.approx(
        (feet * 12 + inches) * MM_PER_INCH, abs=2
    )


@pytest.mark.parametrize(
    ("kind", "letters"),
    [
        (DamageKind.TREAD_WORN, "WB"),
        (DamageKind.BENT, "BT"),
        (DamageKind.BOWED, "BW"),
        (DamageKind.BLOCKED, "BK"),
        (DamageKind.BLOW_OUT, "BL"),
        (DamageKind.BROKEN, "BR"),
    ],
)
def test_damage_letters_of_gb_t_15119(kind: DamageKind, letters: str) -> None:
    # GB/T 15119-1994, equivalent to ISO 9897-1:1990 Annex D: 04010 WB, 04020 BT … 04060 BR.
    assert iso_9897_letters(kind).letters == letters
