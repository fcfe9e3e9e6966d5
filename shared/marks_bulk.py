"""The check of many identity marks at once, in arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from shared import marks

_WIDTH: Final = 11
_UNREADABLE: Final = "?" * _WIDTH
_WRONG: Final = 1 << 14
"""Counts for a character that does not belong at its place: no sum of right ones comes near."""

_BLOCK: Final = 1 << 16
"""Marks reckoned at a time, so that the arrays in between stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class MarkChecks:
    """What the check found, one element per mark, in the order they were given.

    `ok`: of the shape of ISO 6346, with its category letter, and the digit is there and right.
    `remainder`: 0 to 10, before 10 is folded to 0; -1 without four letters and six digits.
    `expected_digit`: 0 to 9; -1 without four letters and six digits.
    """

    ok: NDArray[np.bool_]
    remainder: NDArray[np.int8]
    expected_digit: NDArray[np.int8]


def _values_by_place() -> NDArray[np.int16]:
    """Return what each byte adds to the sum at each of the ten places, reduced modulo 11."""
    values = np.full((10, 256), _WRONG, dtype=np.int16)
    for at in range(4):
        for letter, value in marks.LETTER_VALUES.items():
            values[at, [ord(letter), ord(letter.lower())]] = (value << at) % 11
    for at in range(4, 10):
        values[at, ord("0") : ord("9") + 1] = (np.arange(10) << at) % 11
    return values


_VALUES: Final = _values_by_place()
_HIGHEST_SUM: Final = 10 * 10
_REMAINDERS: Final = np.arange(_HIGHEST_SUM + 1, dtype=np.int8) % np.int8(11)
_CATEGORY_LETTERS: Final = marks.ISO_CATEGORY_LETTERS + marks.ISO_CATEGORY_LETTERS.lower()
_CATEGORIES: Final = np.isin(np.arange(256), [ord(letter) for letter in _CATEGORY_LETTERS])


def check_marks(texts: Sequence[str]) -> MarkChecks:
    """Check marks written in any way that `marks.find_compact` reads.

    Marks without separators are by far the fastest; spaces and dashes cost some time.
    """
    laid_out = texts if _are_of_one_width(texts) else _strip(texts)
    checks = check_rows(_lay_out(laid_out))
    # A mark with a space and without its digit is eleven characters long too: read it properly.
    unread = np.flatnonzero(checks.remainder < 0).tolist()
    if unread:
        again = check_rows(_lay_out([_padded(texts[at]) for at in unread]))
        checks.remainder[unread] = again.remainder
        checks.expected_digit[unread] = again.expected_digit
    return checks


def check_packed(packed: bytes) -> MarkChecks:
    """Check marks packed end to end in ASCII, eleven bytes each, without anything between.

    Raises:
        MarkShapeError: the bytes are not a whole number of marks; carries the rest.
    """
    if rest := len(packed) % _WIDTH:
        raise marks.MarkShapeError(packed[-rest:].decode("ascii", "replace"))
    return check_rows(np.frombuffer(packed, dtype=np.uint8).reshape(-1, _WIDTH))


def check_rows(rows: NDArray[np.uint8]) -> MarkChecks:
    """Check marks given as an array of ASCII codes, shape (n, 11); n may be 0."""
    count = len(rows)
    checks = MarkChecks(
        np.empty(count, dtype=np.bool_),
        np.empty(count, dtype=np.int8),
        np.empty(count, dtype=np.int8),
    )
    for first in range(0, count, _BLOCK):
        part = slice(first, first + _BLOCK)
        _check_block(rows[part], checks, part)
    return checks


def _check_block(rows: NDArray[np.uint8], checks: MarkChecks, part: slice) -> None:
    sums = np.zeros(len(rows), dtype=np.int32)
    for at in range(10):
        sums += _VALUES[at].take(rows[:, at])
    shaped = sums <= _HIGHEST_SUM
    remainders = _REMAINDERS.take(np.where(shaped, sums, 0))
    digits = np.where(remainders == 10, np.int8(0), remainders)
    right = (rows[:, 10] == digits + ord("0")) & _CATEGORIES.take(rows[:, 3])
    checks.ok[part] = shaped & right
    checks.remainder[part] = np.where(shaped, remainders, -1)
    checks.expected_digit[part] = np.where(shaped, digits, -1)


def _are_of_one_width(texts: Sequence[str]) -> bool:
    """Say whether each text is eleven ASCII characters."""
    return set(map(len, texts)) == {_WIDTH} and all(map(str.isascii, texts))


def _strip(texts: Sequence[str]) -> list[str]:
    """Return each text in eleven characters: spaces and dashes dropped at once from all of them.

    What is not eleven long by that is read one by one; a dropped space never changes what eleven
    letters and digits mean.
    """
    bare = "\n".join(texts).replace(" ", "").replace("-", "").split("\n")
    if len(bare) != len(texts):  # a line end inside a text
        return [_padded(text) for text in texts]
    return [
        short if len(short) == _WIDTH and short.isascii() else _padded(text)
        for short, text in zip(bare, texts, strict=True)
    ]


def _lay_out(texts: Sequence[str]) -> NDArray[np.uint8]:
    """Return texts of eleven ASCII characters as rows of codes."""
    codes = np.frombuffer("".join(texts).encode("ascii"), dtype=np.uint8)
    return codes.reshape(-1, _WIDTH)


def _padded(text: str) -> str:
    """Return a mark in normal form, a `?` for a digit not read, or all `?` for what is no mark."""
    return (marks.find_compact(text) or _UNREADABLE).ljust(_WIDTH, "?")
