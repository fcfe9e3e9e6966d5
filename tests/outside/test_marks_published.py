"""Marks against published numbers, two general-purpose libraries, and exhaustive counts."""

from __future__ import annotations

from itertools import permutations

import iso6346
import numpy as np
import pytest
import stdnum.exceptions
import stdnum.iso6346

from shared import marks, marks_bulk
from tests.support.marks import make_rows, make_texts

ENCYCLOPAEDIA = "encyclopaedia article on ISO 6346; doctest of python-stdnum 2.2"
LAYOUTS = "public page reproducing the layout figures of ISO 6346"
APP = "public description of a check-digit calculator"
DOCTEST = "doctest of python-stdnum 2.2"
STEPS = "public page that reckons a check digit step by step"
ANNEX = "said to be the example of ISO 6346 Annex A (from memory; the arithmetic agrees)"


@pytest.mark.parametrize(
    ("number", "total", "remainder", "source"),
    [
        ("CSQU 305438 3", 6185, 3, ENCYCLOPAEDIA),
        ("ABZU 001234 3", 3578, 3, LAYOUTS),
        ("ABCU 123456 0", 5478, 0, APP),
        ("TASU 117000 0", 923, 10, DOCTEST),
        ("MWCU 605978 4", 7858, 4, STEPS),
        ("ZEPU 003725 5", 4592, 5, ANNEX),
    ],
)
def test_published_number_has_its_sum_remainder_and_digit(
    number: str, total: int, remainder: int, source: str
) -> None:
    mark = marks.parse(number)
    assert sum(terms_of(mark)) == total, source
    assert mark.remainder == remainder == total % 11, source
    assert mark.expected_digit == mark.check_digit, source
    assert marks.is_sound(mark.compact), source
    assert str(mark) == number


def terms_of(mark: marks.Mark) -> list[int]:
    """Return the ten products that the sum is made of, by the letter values of the table."""
    values = [marks.LETTER_VALUES.get(c) or int(c) for c in mark.first_ten]
    return [value << at for at, value in enumerate(values)]


def test_terms_of_the_encyclopaedia_example() -> None:
    # Source: a public repository that prints the table 13 x 1 ... 8 x 512 = 6185.
    expected = [13, 60, 112, 256, 48, 0, 320, 512, 768, 4096]
    assert terms_of(marks.parse("CSQU 305438 3")) == expected


def test_a_million_random_marks_agree_with_python_stdnum_but_for_category_r() -> None:
    # Source: python-stdnum 2.2, stdnum.iso6346. It takes R for a category letter, we do not.
    rows = make_rows(1_000_000, seed=20, categories="UJZR")
    rows[::2, 10] = marks_bulk.check_rows(rows[::2]).expected_digit + ord("0")
    texts = make_texts(rows)
    ours = marks_bulk.check_rows(rows).ok
    theirs = np.fromiter(map(stdnum.iso6346.is_valid, texts), dtype=np.bool_, count=len(texts))
    reefers = rows[:, 3] == ord("R")
    assert np.array_equal(ours[~reefers], theirs[~reefers])
    assert not ours[reefers].any()
    assert theirs[reefers].mean() > 0.5
    assert 400_000 < ours.sum() < 420_000


@pytest.mark.parametrize(
    ("text", "theirs", "ours"),
    [
        ("CSQR3054381", True, False),  # R is no category letter of ISO 6346
        ("1SQU3054382", True, False),  # a digit in the owner code
        ("CSQU 305438-3", False, True),  # they drop spaces only
        ("CSQU 305438 [3]", False, True),
        ("csqu 305438 3", True, True),
        ("TASU 117000 0", True, True),
        ("CSQU 305438 4", False, False),
    ],
)
def test_differences_from_python_stdnum_are_on_purpose(text: str, theirs: bool, ours: bool) -> None:
    # Source: python-stdnum 2.2, read and run.
    assert stdnum.iso6346.is_valid(text) is theirs
    assert bool(marks_bulk.check_marks([text]).ok[0]) is ours


@pytest.mark.parametrize("text", ["_SQU3054383", "\u00c4SQU3054383"])
def test_python_stdnum_breaks_on_owner_codes_that_we_refuse(text: str) -> None:
    # Source: python-stdnum 2.2, run: a plain ValueError even from `is_valid`.
    with pytest.raises(ValueError, match="substring not found") as caught:
        stdnum.iso6346.is_valid(text)
    assert not isinstance(caught.value, stdnum.exceptions.ValidationError)
    with pytest.raises(marks.MarkShapeError):
        marks.parse(text)


def test_random_marks_agree_with_iso6346_containers() -> None:
    # Source: iso6346-containers 0.2.1. It looks at no category letter, so any letter stands there.
    rows = make_rows(50_000, seed=21, categories="ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    texts = make_texts(rows)
    ours = marks_bulk.check_rows(rows)
    theirs = [iso6346.checkdigit(text) for text in texts]
    assert ours.expected_digit.tolist() == theirs
    assert [int(marks.check_digit(text[:10])) for text in texts[:5000]] == theirs[:5000]
    assert marks.written(texts[0]) == iso6346.format(texts[0])
    assert str(marks.parse(iso6346.format(texts[0], box=True))) == iso6346.format(texts[0])


# Source of the counts below: ISO 6346 Annex A's rule, counted exhaustively; published with the
# project's reference figures and found again here from the code.
PREFIXES = ["CSQU", "ZZZU", "HQXJ"]


def digits_of_all_serials(prefix: str) -> marks_bulk.MarkChecks:
    """Check a prefix with all its serials, ordered."""
    serials = np.arange(1_000_000)
    rows = np.empty((1_000_000, 11), dtype=np.uint8)
    rows[:, :4] = np.frombuffer(prefix.encode(), dtype=np.uint8)
    for at in range(6):
        rows[:, 4 + at] = serials // 10 ** (5 - at) % 10 + ord("0")
    rows[:, 10] = ord("?")
    return marks_bulk.check_rows(rows)


def by_place(checks: marks_bulk.MarkChecks) -> np.ndarray:
    """Return the check digits as an array of six axes, one per place of the serial."""
    return checks.expected_digit.reshape((10,) * 6)


@pytest.mark.parametrize("prefix", PREFIXES)
def test_substituted_serial_digits_missed_are_981816_of_54_million(prefix: str) -> None:
    digit = by_place(digits_of_all_serials(prefix))
    missed = [
        sum(int((digit == np.roll(digit, by, axis=at)).sum()) for by in range(1, 10))
        for at in range(6)
    ]
    assert sum(missed) == 981_816
    assert max(missed) == min(missed)
    assert digit.size * 6 * 9 == 54_000_000


def swapped(digit: np.ndarray, one: int, other: int) -> tuple[int, int]:
    """Return how many exchanges of two places' unlike digits are missed, and of how many."""
    places = np.indices((10, 10))
    unlike = np.moveaxis(digit, (one, other), (0, 1))[places[0] != places[1]]
    after = np.moveaxis(digit, (other, one), (0, 1))[places[0] != places[1]]
    return int((unlike == after).sum()), unlike.size


@pytest.mark.parametrize(("apart", "missed"), [(1, 81_820), (2, 65_456)])
def test_exchanged_serial_digits_missed_are_one_in_55(apart: int, missed: int) -> None:
    digit = by_place(digits_of_all_serials("CSQU"))
    counts = [swapped(digit, at, at + apart) for at in range(6 - apart)]
    assert sum(n for n, _ in counts) == missed
    assert sum(of for _, of in counts) == (6 - apart) * 900_000


def test_last_serial_digit_exchanged_with_the_check_digit_is_missed_in_18182_of_900000() -> None:
    checks = digits_of_all_serials("CSQU")
    serials, digits = np.arange(1_000_000), checks.expected_digit.astype(np.int64)
    lasts = serials % 10
    unlike = lasts != digits
    after = digits[serials - lasts + digits]
    assert int((after == lasts)[unlike].sum()) == 18_182
    assert abs(int(unlike.sum()) - 900_000) < 20_000


def test_remainder_ten_is_one_serial_in_eleven_and_the_only_leak() -> None:
    checks = digits_of_all_serials("CSQU")
    assert round(float((checks.remainder == 10).mean()), 4) == 0.0909
    assert round(float((checks.expected_digit == 0).mean()), 4) == 0.1818
    remainder = checks.remainder.reshape((10,) * 6)
    shifts = [(at, by) for at in range(6) for by in range(1, 10)]
    assert not any((remainder == np.roll(remainder, by, at)).any() for at, by in shifts)


def letter_misses(pairs: list[tuple[int, int]], places: int, *, exchanged: bool) -> int:
    """Return how many letter errors are missed, over all remainders of the rest of the mark."""
    rest = np.arange(11)
    missed = 0
    for one, other in pairs:
        for at in range(places):
            right, wrong = one << at, other << at
            if exchanged:
                right, wrong = right + (other << at + 1), wrong + (one << at + 1)
            missed += int(((rest + right) % 11 % 10 == (rest + wrong) % 11 % 10).sum())
    return missed


def test_owner_letter_errors_missed_are_1814_of_21450_and_1208_of_14300() -> None:
    pairs = list(permutations(marks.LETTER_VALUES.values(), 2))
    assert letter_misses(pairs, 3, exchanged=False) == 1_814
    assert letter_misses(pairs, 2, exchanged=True) == 1_208
    assert (len(pairs) * 3 * 11, len(pairs) * 2 * 11) == (21_450, 14_300)


def test_letters_of_equal_residue_are_never_told_apart() -> None:
    classes: dict[int, str] = {}
    for letter, value in marks.LETTER_VALUES.items():
        classes[value % 11] = classes.get(value % 11, "") + letter
    expected = "BLV CMW DNX EOY FPZ GQ HR IS JT AKU"
    assert sorted(classes.values()) == sorted(expected.split())
    mzz, wzz = digits_of_all_serials("MZZU"), digits_of_all_serials("WZZU")
    assert np.array_equal(mzz.remainder, wzz.remainder)


def test_category_letters_are_told_apart_from_u_and_but_for_one_in_eleven_among_j_and_z() -> None:
    digits = {letter: digits_of_all_serials(f"CSQ{letter}").expected_digit for letter in "UJZ"}
    assert not (digits["U"] == digits["J"]).any()
    assert not (digits["U"] == digits["Z"]).any()
    assert round(float((digits["J"] == digits["Z"]).mean()), 3) == 0.091
