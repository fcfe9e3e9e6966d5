from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import marks, marks_bulk
from tests.support.marks import make_rows, make_texts

anything = st.one_of(
    st.from_regex(r"[A-Za-z]{3}[UJZujzKR][0-9]{7}", fullmatch=True),
    st.from_regex(r"[A-Z]{3}U [0-9]{6}[ -]?(\[[0-9]\]|[0-9])?", fullmatch=True),
    st.text(min_size=11, max_size=11),
    st.text(max_size=14),
)


def check_one(text: str) -> tuple[bool, int, int]:
    """Return what the single check says of a mark."""
    compact = marks.find_compact(text)
    if compact is None:
        return False, -1, -1
    return (
        marks.is_sound(compact),
        marks.remainder(compact[:10]),
        int(marks.check_digit(compact[:10])),
    )


def rows_of(checks: marks_bulk.MarkChecks) -> list[tuple[bool, int, int]]:
    return list(
        zip(
            checks.ok.tolist(),
            checks.remainder.tolist(),
            checks.expected_digit.tolist(),
            strict=True,
        )
    )


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.lists(anything, max_size=8))
def test_bulk_check_says_what_the_single_check_says(texts: list[str]) -> None:
    assert rows_of(marks_bulk.check_marks(texts)) == [check_one(text) for text in texts]


def test_bulk_check_of_random_marks_says_what_the_single_check_says() -> None:
    texts = make_texts(make_rows(20_000, seed=3))
    checks = marks_bulk.check_marks(texts)
    assert rows_of(checks) == [check_one(text) for text in texts]
    assert 1500 < checks.ok.sum() < 2500


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("CSQU3054383", (True, 3, 3)),
        ("csqu3054383", (True, 3, 3)),
        ("CSQU 305438 [3]", (True, 3, 3)),
        ("CSQU 305438-3", (True, 3, 3)),
        ("CSQU 305438", (False, 3, 3)),
        ("CSQU 30543 8", (False, -1, -1)),
        ("CSQU3054384", (False, 3, 3)),
        ("CSQU305438", (False, 3, 3)),
        ("TASU1170000", (True, 10, 0)),
        ("CSQK3054383", (False, 3, 3)),
        ("CSQU3O54383", (False, -1, -1)),
        ("1SQU3054382", (False, -1, -1)),
        ("", (False, -1, -1)),
        ("CSQU3054383CSQU3054383", (False, -1, -1)),
    ],
)
def test_bulk_check_of_one_mark(text: str, expected: tuple[bool, int, int]) -> None:
    assert rows_of(marks_bulk.check_marks([text])) == [expected]
    among = rows_of(marks_bulk.check_marks(["ZZZU1234564", text, "ZZZU1234564"]))
    assert among == [(True, 4, 4), expected, (True, 4, 4)]


def test_bulk_check_is_not_misled_by_line_ends_inside_marks() -> None:
    texts = ["CSQU305438", "\nZZZU1234564"]
    assert rows_of(marks_bulk.check_marks(texts)) == [(False, 3, 3), (True, 4, 4)]


def test_bulk_check_over_several_blocks_keeps_the_order() -> None:
    texts = make_texts(make_rows(70_000, seed=5))
    texts[65_535:65_537] = ["CSQU3054383", "CSQU3054384"]
    checks = marks_bulk.check_marks(texts)
    assert checks.ok[65_535:65_537].tolist() == [True, False]
    assert checks.ok.shape == checks.remainder.shape == checks.expected_digit.shape == (70_000,)
    assert np.array_equal(checks.ok[69_000:], marks_bulk.check_marks(texts[69_000:]).ok)


def test_bulk_check_of_nothing_gives_empty_arrays() -> None:
    assert rows_of(marks_bulk.check_marks([])) == []
    assert rows_of(marks_bulk.check_packed(b"")) == []


def test_packed_marks_are_checked_like_texts() -> None:
    packed = b"CSQU3054383TASU1170000CSQU3054384"
    assert marks_bulk.check_packed(packed).ok.tolist() == [True, True, False]


def test_packed_marks_cut_short_raise() -> None:
    with pytest.raises(marks.MarkShapeError) as caught:
        marks_bulk.check_packed(b"CSQU3054383CSQU")
    assert caught.value.text == "CSQU"
