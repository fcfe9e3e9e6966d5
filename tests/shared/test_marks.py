from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import marks
from shared.errors import KnowledgeError
from shared.marks import Mark, MarkShapeError, Scheme

calm = settings(max_examples=150, derandomize=True, deadline=None)
shaped = st.from_regex(r"[A-Z]{4}[0-9]{6,7}", fullmatch=True)


@pytest.mark.parametrize(
    "text",
    [
        "CSQU3054383",
        "CSQU 305438 3",
        " csqu 305438-3 ",
        "CSQU-305438/3",
        "CSQ U 305.438.3",
        "CSQU 305438 [3]",
        "CSQU305438|3|",
        "CSQU 305438 ( 3 )",
        "CSQU 305438 {3}",
        "CSQU\n305438\n3",
        "C S Q U 3 0 5 4 3 8 3",
        "CSQU 305 438 3",
        "CSQU\u00a0305438\u20133",
        "CSQU 305438 \u22123",
        "\uff23\uff33\uff31\uff35\u3000\uff13\uff10\uff15\uff14\uff13\uff18 \uff13",
        "\uff43\uff53\uff51\uff55 305438 \uff3b\uff13\uff3d",
        "CSQU 305438 \u2462",
        "CSQU 305438 3\u20de",
        "\ufeffCSQU 305438 \u25023\u2502",
    ],
)
def test_parse_as_written_gives_the_same_mark(text: str) -> None:
    assert marks.parse(text) == Mark("CSQ", "U", "305438", "3")


@pytest.mark.parametrize(
    "text", ["CSQU305438", "csqu 305 438", "C S Q U 3 0 5 4 3 8", "CSQU 305-438"]
)
def test_parse_without_digit_keeps_it_open(text: str) -> None:
    assert marks.parse(text) == Mark("CSQ", "U", "305438", None)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "it has 0 letters"),
        ("CSQU30543833", "it has 12 letters"),
        ("CSQU30543", "it has 9 letters"),
        ("C5QU3054383", "the digit 5 stands at place 2"),
        ("CSQ03054383", "the digit 0 stands at place 4"),
        ("CSQU3O54383", "the letter O stands at place 6"),
        ("CSQUU054383", "the letter U stands at place 5"),
        ("CSQU 30543 8", "its last digit stands apart"),
        ("CSQU 30543[8]", "its last digit stands apart"),
        ("CSQU 305438 [3", "not understood"),
        ("CSQU 305438 3]", "not understood"),
        ("CSQU |305438 3", "not understood"),
        ("CSQU@3054383", "not understood"),
        ("CSQU\u0660054383", "not understood"),  # a digit of another script
        ("\u00dfQU3054383", "place 3"),
    ],
)
def test_parse_other_shapes_raises_and_says_why(text: str, fault: str) -> None:
    with pytest.raises(MarkShapeError) as caught:
        marks.parse(text)
    assert fault in str(caught.value)
    assert caught.value.text == text


def test_shape_error_speaks_in_three_parts() -> None:
    fault = MarkShapeError("CSQU")
    assert isinstance(fault, marks.MarkError)
    assert isinstance(fault, KnowledgeError)
    assert fault.wrong.startswith("'CSQU' is no mark")
    assert "CSQU 305438 3" in fault.expected
    assert fault.remedy


@calm
@given(shaped, st.sampled_from(["", " ", "-", " - "]))
def test_format_of_parse_is_stable(text: str, gap: str) -> None:
    read = marks.parse(text[:4].lower() + gap + text[4:10] + gap + text[10:])
    once = str(read)
    assert read.compact == text
    assert str(marks.parse(once)) == once
    assert marks.parse(once) == read


@calm
@given(st.text(max_size=30))
def test_any_text_is_a_stable_mark_or_a_mark_error(text: str) -> None:
    try:
        once = str(marks.parse(text))
    except marks.MarkError:
        assert marks.find_compact(text) is None
    else:
        assert str(marks.parse(once)) == once


@calm
@given(st.text(max_size=40))
def test_normalise_leaves_capitals_and_digits_and_is_stable(text: str) -> None:
    once = marks.normalise(text)
    assert all(character in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789" for character in once)
    assert marks.normalise(once) == once


def test_letter_values_skip_the_multiples_of_eleven() -> None:
    values = list(marks.LETTER_VALUES.values())
    assert values == [n for n in range(10, 39) if n % 11]
    assert "".join(marks.LETTER_VALUES) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@calm
@given(st.from_regex(r"[A-Z]{4}[0-9]{6}", fullmatch=True))
def test_remainder_equals_the_sum_written_out(first_ten: str) -> None:
    total = sum(
        (int(c) if c.isdigit() else marks.LETTER_VALUES[c]) * 2**at
        for at, c in enumerate(first_ten)
    )
    assert marks.remainder(first_ten) == total % 11
    assert marks.check_digit(first_ten) == str(total % 11 % 10)


@pytest.mark.parametrize(
    "text", ["CSQU30543", "CSQU3054383", "csqu305438", "C5QU305438", "", "CSQ"]
)
def test_check_digit_of_another_shape_raises(text: str) -> None:
    with pytest.raises(MarkShapeError):
        marks.check_digit(text)


def test_remainder_ten_is_folded_to_zero() -> None:
    mark = marks.parse("TASU 117000 0")
    assert (mark.remainder, mark.expected_digit) == (10, "0")
    assert marks.is_sound("TASU1170000")


@pytest.mark.parametrize(
    ("text", "sound"),
    [
        ("CSQU3054383", True),
        ("CSQU3054384", False),
        ("CSQK3054383", False),  # K counts like U, but is no category letter of ISO 6346
        ("CSQU305438", False),
        ("CSQU3O54383", False),
        ("CSQU 305438 3", False),
    ],
)
def test_is_sound_asks_shape_category_and_digit(text: str, sound: bool) -> None:
    assert marks.is_sound(text) is sound


@pytest.mark.parametrize(
    ("letter", "scheme"),
    [(c, Scheme.ISO_6346) for c in "UJZ"]
    + [(c, Scheme.EN_13044) for c in "ABDEK"]
    + [(c, None) for c in "RCXS"],
)
def test_scheme_follows_the_fourth_letter(letter: str, scheme: Scheme | None) -> None:
    assert marks.parse(f"ZZZ{letter}123456").scheme is scheme


def test_completed_mark_carries_its_digit_whatever_was_read() -> None:
    assert str(marks.parse("ZZZU 123456").completed()) == "ZZZU 123456 4"
    assert str(marks.parse("ZZZU 123456 9").completed()) == "ZZZU 123456 4"


@pytest.mark.parametrize(
    "fields", [("CS", "U", "305438"), ("CSQ", "UU", "30543"), ("csq", "U", "305438")]
)
def test_mark_of_other_lengths_is_refused(fields: tuple[str, str, str]) -> None:
    with pytest.raises(MarkShapeError):
        Mark(*fields, "3")


def test_written_puts_two_spaces_or_one_without_digit() -> None:
    assert marks.written("CSQU3054383") == "CSQU 305438 3"
    assert marks.written("CSQU305438") == "CSQU 305438"
