"""Size-type codes, new and old: every row of the tables, and every way to be wrong."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import size_type_tables as tables
from shared.old_size_types import OldSizeType, decode_old_size_type
from shared.size_type_description import describe, describe_known_part
from shared.size_type_errors import (
    SizeTypeError,
    SizeTypeUnassignedError,
    SizeTypeUnreadableError,
)
from shared.size_type_guesses import MOST_GUESSES, guess_size_types
from shared.size_type_parts import Bound, Edition, Vents, WidthClass
from shared.size_types import (
    SizeType,
    decode_size_type,
    normalise,
    read_size_type,
    what_follows,
)
from shared.table_files import Certainty, TableRow, load_table

CHARACTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


@pytest.mark.parametrize("row", load_table("size_lengths"), ids=lambda row: row["code"])
def test_length_every_row_decodes_or_is_unassigned(row: TableRow) -> None:
    code = f"{row['code']}2G1"
    if not row["mm"]:
        with pytest.raises(SizeTypeUnassignedError) as caught:
            decode_size_type(code)
        assert (caught.value.part, caught.value.code) == ("length", row["code"])
        assert caught.value.is_sure
        return
    length = decode_size_type(code).length
    assert length.mm == int(row["mm"])
    assert (length.feet is None) == (row["feet"] == "")


@pytest.mark.parametrize("row", load_table("size_heights"), ids=lambda row: row["code"])
def test_height_every_row_decodes_or_is_unassigned(row: TableRow) -> None:
    code = f"2{row['code']}G1"
    if not row["mm"]:
        with pytest.raises(SizeTypeUnassignedError) as caught:
            decode_size_type(code)
        assert (caught.value.part, caught.value.is_sure) == ("height", True)
        return
    height = decode_size_type(code).height
    assert (height.mm, height.bound) == (int(row["mm"]), Bound(row["bound"]))
    assert height.width is WidthClass(row["width"])


@pytest.mark.parametrize("row", load_table("size_type_groups"), ids=lambda row: row["code"])
def test_group_every_row_decodes_without_a_detail(row: TableRow) -> None:
    meanings = decode_size_type(f"22{row['code']}").meanings
    assert [m.group for m in meanings if m.detail is None] == [row["code"]]


@pytest.mark.parametrize(
    "row",
    load_table("size_type_details"),
    ids=lambda row: row["code"] + row["edition"][-4:],
)
def test_detail_every_row_decodes_or_is_unassigned(row: TableRow) -> None:
    code = f"22{row['code']}"
    if not row["meaning"]:
        with pytest.raises(SizeTypeUnassignedError) as caught:
            decode_size_type(code)
        assert (caught.value.part, caught.value.code) == ("type", row["code"])
        return
    (meaning,) = (m for m in decode_size_type(code).meanings if m.edition == row["edition"])
    assert meaning.text.endswith(row["meaning"])
    assert (meaning.group, meaning.certainty) == (row["group"], row.certainty)
    assert not meaning.reduced


@pytest.mark.parametrize("table", ["size_type_details", "size_type_groups", "reduced_strength"])
def test_type_tables_name_only_families_that_are_listed(table: str) -> None:
    for row in load_table(table):
        assert set(row.values.get("families", row.values.get("code", "")[:1])) <= set(
            tables.families()
        )


def test_reduced_letters_are_ten_and_name_every_digit_once() -> None:
    sequence = {
        family: "".join(
            sorted(
                (r["letter"] for r in load_table("reduced_strength") if family in r["families"]),
                key=lambda letter: tables.reduced_letters()[family, letter]["digit"],
            )
        )
        for family in "GVBSRHUPTA"
    }
    assert set(sequence.values()) == {"ABDGJMVWXY"}


def test_length_code_2_is_6058_though_the_leaflet_prints_6068() -> None:
    assert decode_size_type("22G1").length.mm == 6058
    assert decode_size_type("22G1").length.words == "20 ft"


def test_length_without_feet_speaks_in_mm_and_half_feet_in_inches() -> None:
    assert decode_size_type("A2G1").length.words == "7150 mm"
    assert decode_size_type("C2G1").length.feet == Decimal("24.5")
    assert decode_size_type("C2G1").length.words == "24 ft 6 in"


@pytest.mark.parametrize(
    ("code", "words", "marks"),
    [
        ("20G1", "8 ft", False),
        ("22G1", "8 ft 6 in", False),
        ("24G1", "9 ft", True),
        ("25G1", "9 ft 6 in", True),
        ("26G1", "over 9 ft 6 in", True),
        ("28G1", "4 ft 3 in", False),
        ("29G1", "at most 4 ft", False),
        ("4EG1", "9 ft 6 in", True),
    ],
)
def test_height_words_and_marks_follow_the_code(code: str, words: str, marks: bool) -> None:
    size_type = decode_size_type(code)
    assert size_type.height.words == words
    assert size_type.needs_height_marks is marks


def test_width_class_letters_say_wider() -> None:
    assert decode_size_type("4CG1").height.width is WidthClass.TO_2500
    assert decode_size_type("4PG1").height.width is WidthClass.OVER_2500


@pytest.mark.parametrize(
    ("code", "ways"),
    [
        ("22TD", {("TD", None, False), ("TN", "T2", True)}),
        ("22TG", {("TG", None, False), ("TD", "T3", True)}),
    ],
)
def test_td_and_tg_return_both_readings_and_choose_none(
    code: str, ways: set[tuple[str, str | None, bool]]
) -> None:
    size_type = decode_size_type(code)
    assert {(m.group, m.detail, m.reduced) for m in size_type.meanings} == ways
    assert size_type.is_ambiguous
    assert size_type.has_reduced_strength is None
    assert size_type.only_meaning is None


def test_only_td_and_tg_are_ambiguous_among_all_codes() -> None:
    pairs = [one + other for one in CHARACTERS for other in CHARACTERS]
    ambiguous = {pair for pair in pairs if _is_ambiguous(f"22{pair}")}
    assert ambiguous == {"TD", "TG"}


def _is_ambiguous(code: str) -> bool:
    try:
        size_type = read_size_type(code)
    except SizeTypeError:
        return False
    return isinstance(size_type, SizeType) and size_type.is_ambiguous


def test_b3_keeps_both_editions_oldest_first() -> None:
    size_type = decode_size_type("22B3")
    assert size_type.editions == (Edition.ISO_1995, Edition.AMENDMENT_3)
    assert [m.group for m in size_type.meanings] == ["BK", "BU"]
    assert size_type.has_reduced_strength is False


def test_reduced_letter_of_a_changed_detail_means_the_later_edition_only() -> None:
    meaning = decode_size_type("22BG").only_meaning
    assert meaning is not None
    assert (meaning.detail, meaning.edition) == ("B3", Edition.AMENDMENT_3)
    assert "rear discharge" in meaning.text


def test_reduced_letter_is_no_meaning_where_only_the_earlier_detail_is_known() -> None:
    with pytest.raises(SizeTypeUnassignedError, match="B6 of reduced strength") as caught:
        decode_size_type("22BV")
    assert not caught.value.is_sure


def test_reduced_letter_of_an_unassigned_detail_is_unassigned() -> None:
    with pytest.raises(SizeTypeUnassignedError, match="G8 of reduced strength") as caught:
        decode_size_type("22GX")
    assert caught.value.is_sure


def test_reduced_letter_outside_g_v_b_s_rests_on_memory() -> None:
    read, remembered = decode_size_type("22GA").meanings[0], decode_size_type("22UA").meanings[0]
    assert (read.detail, read.certainty) == ("G0", Certainty.ONE_TEXT)
    assert (remembered.detail, remembered.certainty) == ("U0", Certainty.MEMORY)
    assert decode_size_type("22UA").has_reduced_strength is True


def test_reduced_letter_of_a_practice_code_stays_practice() -> None:
    assert decode_size_type("22UV").meanings[0].certainty is Certainty.PRACTICE


@pytest.mark.parametrize(
    ("code", "part", "sure"),
    [
        ("52G1", "length", True),
        ("S2G1", "length", True),
        ("23G1", "height", True),
        ("2ZG1", "height", True),
        ("22G5", "type", True),
        ("22GI", "type", True),
        ("22W1", "type", True),
        ("22R7", "type", True),
        ("22P9", "type", False),
        ("22B7", "type", False),
        ("22K2", "type", False),
        ("22RJ", "type", False),
        ("22UI", "type", False),
        ("9510", "length", False),
    ],
)
def test_read_unassigned_part_is_named_with_how_sure_it_is(
    code: str, part: str, sure: bool
) -> None:
    with pytest.raises(SizeTypeUnassignedError) as caught:
        read_size_type(code)
    fault = caught.value
    assert (fault.part, fault.is_sure, fault.text) == (part, sure, code)
    assert fault.wrong
    assert fault.expected
    assert fault.remedy


@pytest.mark.parametrize(
    "text",
    ["", "2", "22G", "22G11", "2210X", "2G10", "22\u00df1", "\uff12\uff12\uff27\uff11", "22_1"],
)
def test_read_wrong_shape_is_unreadable(text: str) -> None:
    with pytest.raises(SizeTypeUnreadableError):
        read_size_type(text)


def test_read_foreign_letter_that_capitals_would_turn_into_ascii_is_unreadable() -> None:
    with pytest.raises(SizeTypeUnreadableError):
        read_size_type("22G\u0131")
    assert normalise("22G\u0131") == "22G\u0131"


@pytest.mark.parametrize("text", ["22G1", " 22 g1 ", "22-G1", "22.g1", "2 2\tG 1"])
def test_read_takes_any_spacing_and_case(text: str) -> None:
    assert read_size_type(text).code == "22G1"


@given(st.text(alphabet=CHARACTERS, min_size=4, max_size=4))
@settings(max_examples=400, derandomize=True, deadline=None)
def test_read_any_four_characters_decodes_or_says_what_to_do(code: str) -> None:
    found = _read_or_fault(code)
    if isinstance(found, SizeTypeError):
        assert found.text == code
        assert found.expected
        assert found.remedy
    else:
        assert found.code == code
        assert describe(found)["code"] == code


def _read_or_fault(text: str) -> SizeType | OldSizeType | SizeTypeError:
    try:
        return read_size_type(text)
    except SizeTypeError as fault:
        return fault


@given(st.text(max_size=8))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_read_any_text_raises_nothing_but_the_clear_error(text: str) -> None:
    found = _read_or_fault(text)
    if isinstance(found, SizeTypeError):
        assert found.expected in str(found)
    else:
        assert found.code == normalise(text)


@given(st.sampled_from([f"{a}{b}" for a in "012345678" for b in "012345678"]))
@settings(max_examples=40, derandomize=True, deadline=None)
def test_normalise_twice_changes_nothing(pair: str) -> None:
    assert normalise(normalise(f" 2{pair}g ")) == normalise(f" 2{pair}g ")


def test_decode_size_type_takes_no_numeric_code() -> None:
    with pytest.raises(SizeTypeUnreadableError):
        decode_size_type("2210")


@pytest.mark.parametrize(
    ("painted", "meant"), [("22GI", "22G1"), ("Z2G1", "22G1"), ("4SG1", "45G1"), ("22GO", "22G0")]
)
def test_guess_look_alike_finds_the_code(painted: str, meant: str) -> None:
    assert meant in guess_size_types(painted)


def test_guess_puts_codes_with_a_letter_first_and_keeps_to_four() -> None:
    near = guess_size_types("22B7")
    assert near[-1] == "2287"
    assert len(guess_size_types("20T8")) == MOST_GUESSES


def test_guess_of_another_length_is_nothing() -> None:
    assert guess_size_types("22G") == ()
    assert guess_size_types("22GI1") == ()


def test_what_follows_names_marks_vents_doors_and_strength() -> None:
    assert what_follows(decode_size_type("42U1"))[0].startswith("Doors or openings at one end")
    high_reduced = " ".join(what_follows(decode_size_type("45GB")))
    for words in ("black and yellow", "Passive vents", "safety plate"):
        assert words in high_reduced
    assert "Wider" in what_follows(decode_size_type("4CGP"))[0]
    assert what_follows(decode_size_type("22TD")) == ()


def test_vents_are_promised_by_g0_g1_and_v0_but_not_by_g2() -> None:
    vents = {code: decode_size_type(f"22{code}").meanings[0].vents for code in ("G0", "G1", "V0")}
    assert vents == {"G0": Vents.NONE, "G1": Vents.PASSIVE, "V0": Vents.NATURAL}
    assert decode_size_type("22G2").meanings[0].vents is None


def test_describe_new_code_carries_plain_values() -> None:
    sheet = describe(decode_size_type("45G1"))
    assert (sheet["length_mm"], sheet["height_mm"]) == (12192, 2895)
    assert (sheet["iso_668"], sheet["height_marks"]) == ("1AAA", True)
    assert sheet["width"] == "2438 mm (8 ft)"


def test_describe_old_code_names_what_is_lost() -> None:
    sheet = describe(decode_old_size_type("4510"))
    assert (sheet["nearest_today"], sheet["gooseneck_tunnel"]) == ("45G1", True)
    assert "measure it" in str(sheet["lost_or_assumed"])


def test_describe_known_part_keeps_the_size_of_a_type_without_meaning() -> None:
    assert describe_known_part("22K2")["length"] == "20 ft"
    assert describe_known_part("9510") == {"code": "9510"}
    assert describe_known_part("") == {"code": ""}
