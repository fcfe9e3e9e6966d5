"""Marks whose serials follow each other, as a maker numbers a batch."""

from __future__ import annotations

from typing import Final

from shared import marks
from shared.errors import KnowledgeError
from shared.marks import MarkShapeError

LAST_SERIAL: Final = 999_999
_NO_DIGIT: Final = 10


class SequenceError(KnowledgeError):
    """A sequence of marks cannot begin or go on as asked."""


def marks_from(first: str, count: int, *, keep_tens: bool = False) -> tuple[str, ...]:
    """Return `count` marks whose serials go up from one of them, each with its right digit.

    Args:
        first: The first mark, with its digit or without.
        count: How many marks, at least one.
        keep_tens: Take serials whose remainder is 10, written as digit 0, too. Makers leave them
            out, since their digit is not told apart from a true 0.

    Raises:
        MarkShapeError: `first` has not the shape of a mark.
        SequenceError: its digit is wrong, it is one of those left out, or the serials end before.

    Source:
        ISO 6346 Annex A, from memory: it advises against such serials. They exist all the same.
    """
    compact = marks.find_compact(first)
    if compact is None:
        raise MarkShapeError(first)
    prefix, serial = compact[:4], int(compact[4:10])
    _check_first(first, compact, keep_tens=keep_tens)
    found: list[str] = []
    while len(found) < count:
        if serial > LAST_SERIAL:
            raise SequenceError(
                f"After {first} there are only {len(found)} serials left, not {count}",
                remedy="Begin a sequence of their own for the others",
            )
        ten = f"{prefix}{serial:06d}"
        if keep_tens or marks.remainder(ten) != _NO_DIGIT:
            found.append(ten + marks.check_digit(ten))
        serial += 1
    return tuple(found)


def _check_first(first: str, compact: str, *, keep_tens: bool) -> None:
    digit = marks.check_digit(compact[:10])
    if compact[10:] not in ("", digit):
        raise SequenceError(
            f"The check digit of {first} is wrong",
            expected=marks.written(compact[:10] + digit),
            remedy="Read the first number again: all others are counted from it",
        )
    if not keep_tens and marks.remainder(compact[:10]) == _NO_DIGIT:
        raise SequenceError(
            f"{first} has remainder 10, and a sequence leaves such serials out",
            remedy="Begin with another, or ask for them to be kept",
        )
