"""Identity marks of ISO 6346: read as written, in normal form, with the check digit.

A mark is three letters of an owner code, a category letter, six digits of a serial and a check
digit. Its normal form is those eleven characters in a row (`CSQU3054383`), its written form has
two spaces (`CSQU 305438 3`). A mark read without its digit has ten.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from typing_extensions import override

from shared.errors import KnowledgeError
from shared.table_files import load_table


class Scheme(StrEnum):
    """The standard whose category letter a mark carries; both reckon the digit alike."""

    ISO_6346 = "ISO 6346"
    EN_13044 = "EN 13044"


@dataclass(frozen=True, slots=True)
class Category:
    """A fourth letter: the scheme it belongs to, and what it marks."""

    letter: str
    scheme: Scheme
    means: str


class MarkError(KnowledgeError):
    """The base of what can go wrong with a mark as a text."""


class MarkShapeError(MarkError):
    """A text has not the shape of a mark; carries the text."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no mark: {shape_fault(text)}",
            expected="four letters, six digits and a check digit, such as CSQU 305438 3",
            remedy="Read the mark again, best at another place on the box",
        )


LETTER_VALUES: Final[Mapping[str, int]] = MappingProxyType(
    {row["letter"]: int(row["value"]) for row in load_table("letter_values")}
)
"""What each letter counts in the check digit's sum."""

CATEGORIES: Final[Mapping[str, Category]] = MappingProxyType(
    {
        row["letter"]: Category(row["letter"], Scheme(row["scheme"]), row["means"])
        for row in load_table("category_letters")
    }
)
"""The category letters known, by letter."""

ISO_CATEGORY_LETTERS: Final = "".join(
    letter for letter, category in CATEGORIES.items() if category.scheme is Scheme.ISO_6346
)
"""The category letters of ISO 6346, the freight container's first."""

FOLDED_DIGITS: Final = "01234567890"
"""The check digit for each remainder; 10 is folded to 0."""

# The sum is taken in three pieces, each looked up whole: a thousand possible halves of a serial.
_SERIAL_HEADS, _SERIAL_TAILS = (
    {
        f"{half:03d}": sum(int(digit) << (first + at) for at, digit in enumerate(f"{half:03d}"))
        for half in range(1000)
    }
    for first in (4, 7)
)

_GAP = r"[\s\-_./,\u00b7]*"
_DIGIT = f"[0-9]{_GAP}"
_WRITTEN = re.compile(
    rf"{_GAP}((?:[A-Z]{_GAP}){{4}}(?:{_DIGIT}){{6}})"
    rf"(?:([0-9]){_GAP}|[\[({{|]{_GAP}([0-9]){_GAP}[\])}}|]{_GAP})?"
)
_COMPACT = re.compile(r"[A-Z]{4}[0-9]{6,7}")
_NOT_PLAIN = re.compile(r"[^A-Z0-9]+")


@lru_cache(maxsize=8192)
def _prefix_sum(prefix: str) -> int:
    return sum(LETTER_VALUES[letter] << at for at, letter in enumerate(prefix))


def remainder(first_ten: str) -> int:
    """Return the sum of the weighted values modulo 11, before 10 is folded to 0.

    Args:
        first_ten: Owner code, category letter and serial in normal form, without the digit.

    Raises:
        MarkShapeError: these are not four letters and six digits.

    Source:
        ISO 6346 Annex A, read.
    """
    try:
        serial = _SERIAL_HEADS[first_ten[4:7]] + _SERIAL_TAILS[first_ten[7:]]
        return (_prefix_sum(first_ten[:4]) + serial) % 11
    except KeyError:
        raise MarkShapeError(first_ten) from None


def check_digit(first_ten: str) -> str:
    """Return the digit that belongs to owner code, category letter and serial; 10 gives `0`.

    Raises:
        MarkShapeError: these are not four letters and six digits.

    Source:
        ISO 6346 Annex A, read.
    """
    return FOLDED_DIGITS[remainder(first_ten)]


def is_sound(text: str) -> bool:
    """Say whether a text in normal form is an ISO 6346 mark whose digit is right."""
    if len(text) != 11 or text[3] not in ISO_CATEGORY_LETTERS:
        return False
    try:
        return check_digit(text[:10]) == text[10]
    except MarkShapeError:
        return False


def _plain(character: str) -> str:
    """Return the ASCII character meant by a full-width, enclosed or typographic one."""
    kind = unicodedata.category(character)
    if kind in ("Cf", "Me") or "\ufe00" <= character <= "\ufe0f":
        return ""  # an enclosing square, or a sign that only steers display
    if kind in ("Zs", "Pd") or character == "\u2212":
        return "-"
    if character == "\u2502":
        return "|"
    simple = unicodedata.normalize("NFKC", character)
    return simple if len(simple) == 1 and simple.isascii() else character


_CAPITALS = {ord(small): ord(small) - 32 for small in "abcdefghijklmnopqrstuvwxyz"}


def _typed(text: str) -> str:
    """Return the text in capitals and ASCII, separators still in place."""
    if not text.isascii():
        text = "".join(map(_plain, text))
    return text.translate(_CAPITALS)


def normalise(text: str) -> str:
    """Return the capitals and digits of a text, everything else dropped, whatever its shape."""
    return _NOT_PLAIN.sub("", _typed(text))


def find_compact(text: str) -> str | None:
    """Return a mark in normal form, ten or eleven characters, or None without a mark's shape.

    Reads spaces, dashes, dots and strokes between characters, small letters, full-width
    characters, and a check digit in a box (`[3]`, `|3|`, `(3)`). A digit that stands apart, after
    only five others, is taken for a check digit after an incomplete serial, which is no mark.
    """
    if _COMPACT.fullmatch(text):
        return text
    written = _WRITTEN.fullmatch(typed := _typed(text))
    if written is None:
        return None
    digit = written[2] or written[3] or ""
    if not digit and _stands_apart(typed):
        return None
    return _NOT_PLAIN.sub("", written[1]) + digit


def _stands_apart(typed: str) -> bool:
    """Say whether the last digit stands alone after digits that stand together."""
    groups = re.findall(r"[0-9]+", typed)
    return len(groups) > 1 and len(groups[-1]) == 1 and any(len(group) > 1 for group in groups)


def shape_fault(text: str) -> str:
    """Say in words what keeps a text from having the shape of a mark."""
    read = normalise(text)
    for place, character in enumerate(read[:11], start=1):
        if place <= 4 and character.isdigit():
            return f"the digit {character} stands at place {place}, where a letter belongs"
        if place > 4 and not character.isdigit():
            return f"the letter {character} stands at place {place}, where a digit belongs"
    if len(read) not in (10, 11):
        return f"it has {len(read)} letters and digits, not 11"
    if len(read) == 10 and _stands_apart(_typed(text)):
        return "its last digit stands apart, as a check digit does, after only five others"
    return "the characters between its letters and digits are not understood"


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark of the right shape. Its category letter and its digit may still be wrong."""

    owner: str
    category: str
    serial: str
    check_digit: str | None = None
    """The digit as read; None when it was not read."""

    def __post_init__(self) -> None:
        """Hold the shape; raises `MarkShapeError`."""
        lengths = (len(self.owner), len(self.category), len(self.serial))
        if lengths != (3, 1, 6) or not _COMPACT.fullmatch(self.compact):
            raise MarkShapeError(self.compact)

    @property
    def first_ten(self) -> str:
        """Return owner code, category letter and serial."""
        return self.owner + self.category + self.serial

    @property
    def compact(self) -> str:
        """Return the normal form: eleven characters, or ten without a digit."""
        return self.first_ten + (self.check_digit or "")

    @property
    def remainder(self) -> int:
        """Return the remainder that the digit comes from, 0 to 10."""
        return remainder(self.first_ten)

    @property
    def expected_digit(self) -> str:
        """Return the digit that belongs to the mark."""
        return check_digit(self.first_ten)

    @property
    def scheme(self) -> Scheme | None:
        """Return the standard its category letter belongs to, if any."""
        category = CATEGORIES.get(self.category)
        return category.scheme if category else None

    def completed(self) -> Mark:
        """Return the mark with the digit that belongs to it, whatever was read."""
        return replace(self, check_digit=self.expected_digit)

    @override
    def __str__(self) -> str:
        """Write `CSQU 305438 3`."""
        return written(self.compact)


def parse(text: str) -> Mark:
    """Read a mark as somebody wrote it; `find_compact` says what is understood.

    Raises:
        MarkShapeError: the text has not the shape of a mark.
    """
    compact = find_compact(text)
    if compact is None:
        raise MarkShapeError(text)
    return Mark(compact[:3], compact[3], compact[4:10], compact[10:] or None)


def written(compact: str) -> str:
    """Write a mark in normal form with its two spaces: `CSQU 305438 3`."""
    return f"{compact[:4]} {compact[4:10]} {compact[10:]}".rstrip()
