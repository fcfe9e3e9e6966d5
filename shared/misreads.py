"""What a misread mark may have been: candidates that pass the check digit, ranked.

The position of a character settles most misreads: letters stand at places 1 to 4, digits from 5
on. After that come characters that look alike, neighbours exchanged, and one character too few or
too many. What the depot expects or knows goes before all of this.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from enum import StrEnum
from itertools import islice, product
from string import ascii_uppercase, digits
from types import MappingProxyType
from typing import Final, NamedTuple, Protocol

from shared import marks
from shared.table_files import load_table

MOST_SUGGESTIONS: Final = 6
_MOST_REPAIRS: Final = 81
_LENGTH: Final = 11
_LONGEST: Final = 80


class Misread(StrEnum):
    """How a mark may have been misread, the likelier first."""

    NO_DIGIT = "check digit not read"
    EMBEDDED = "stands among other characters"
    POSITION = "a digit read for a letter, or a letter for a digit"
    LOOK_ALIKE = "characters that look alike"
    TRANSPOSED = "neighbours exchanged"
    DOUBLED = "a character read twice"
    MISSING = "a character not read"
    ZERO_FILLED = "leading zeros of the serial not read"
    EXTRA = "a character too many"
    WRONG_DIGIT = "another check digit"
    SUBSTITUTED = "another character"


class Standing(StrEnum):
    """How well the depot knows a mark, the better first."""

    EXPECTED = "expected"
    KNOWN = "known"


class KnownMarks(Protocol):
    """The marks and owner codes the depot knows. Asked once per suggestion, for all candidates."""

    @property
    def owner_codes(self) -> Set[str]:
        """Return the owner codes known, three letters each; empty when none are."""

    def which_exist(self, candidates: Collection[str]) -> Mapping[str, Standing]:
        """Return those of the candidates, in normal form, that are expected or known."""


@dataclass(frozen=True, slots=True)
class KnownMarkSets:
    """Known marks held as sets in memory; a look-up costs the same however many there are."""

    units: Set[str] = frozenset()
    expected: Set[str] = frozenset()
    owner_codes: Set[str] = frozenset()

    @classmethod
    def of(cls, units: Iterable[str], expected: Iterable[str] = ()) -> KnownMarkSets:
        """Gather marks in normal form; their owner codes are the owner codes known."""
        known, due = frozenset(units), frozenset(expected)
        return cls(known, due, frozenset(mark[:3] for mark in known | due))

    def which_exist(self, candidates: Collection[str]) -> Mapping[str, Standing]:
        """Return the standing of each candidate that is in one of the sets."""
        return {
            mark: Standing.EXPECTED if mark in self.expected else Standing.KNOWN
            for mark in candidates
            if mark in self.expected or mark in self.units
        }


class Suggestion(NamedTuple):
    """A mark, in normal form and with the right digit, that may be the true one, and why."""

    mark: str
    misread: Misread
    standing: Standing | None


def _pairs() -> Mapping[str, str]:
    alike: dict[str, str] = {}
    for row in load_table("look_alikes"):
        for one, other in ((row["one"], row["other"]), (row["other"], row["one"])):
            alike[one] = alike.get(one, "") + other
    return MappingProxyType(alike)


LOOK_ALIKES: Final = _pairs()
"""The characters that each character is taken for."""

_EQUAL_RESIDUE: Final = {
    letter: "".join(
        other
        for other, counts in marks.LETTER_VALUES.items()
        if other != letter and counts % 11 == value % 11
    )
    for letter, value in marks.LETTER_VALUES.items()
}

_ALPHABETS: Final = (*(ascii_uppercase,) * 3, marks.ISO_CATEGORY_LETTERS, *(digits,) * 7)
_KIND_ORDER: Final = {kind: order for order, kind in enumerate(Misread)}
_STANDING_ORDER: Final = {Standing.EXPECTED: 0, Standing.KNOWN: 1, None: 2}


def _fits(read: str) -> bool:
    """Say whether letters and digits stand where they belong, as far as the text goes."""
    return all(character in _ALPHABETS[at] for at, character in enumerate(read))


def _alike(character: str, at: int) -> str:
    """Return what else may stand at a place when `character` was read there."""
    allowed = _ALPHABETS[at]
    if at == 3:  # only three letters are possible, so each of them is worth a try
        return allowed.replace(character, "")
    return "".join(other for other in LOOK_ALIKES.get(character, "") if other in allowed)


def _repairs(read: str) -> list[str]:
    """Return the text with letters and digits put where they belong; itself when they are."""
    choices = [
        character if character in _ALPHABETS[at] else _alike(character, at) or _ALPHABETS[at]
        for at, character in enumerate(read)
    ]
    return ["".join(letters) for letters in islice(product(*choices), _MOST_REPAIRS)]


def _look_alikes(read: str) -> Iterator[str]:
    for at, character in enumerate(read):
        for other in _alike(character, at):
            yield read[:at] + other + read[at + 1 :]


def _transpositions(read: str) -> Iterator[str]:
    for at in range(len(read) - 1):
        yield read[:at] + read[at + 1] + read[at] + read[at + 2 :]


def _substitutions(read: str) -> Iterator[str]:
    for at, allowed in enumerate(_ALPHABETS):
        for other in allowed:
            yield read[:at] + other + read[at + 1 :]


def _insertions(read: str) -> Iterator[str]:
    """Yield the text with one character put in; first those that complete a pair."""
    lonely = []
    for at, allowed in enumerate(_ALPHABETS):
        for other in allowed:
            text = read[:at] + other + read[at:]
            if other in read[max(at - 1, 0) : at + 1]:
                yield text
            else:
                lonely.append(text)
    yield from lonely


def _deletions(read: str, *, doubled: bool) -> Iterator[str]:
    for at in range(1 if doubled else 0, len(read)):
        if not doubled or read[at] == read[at - 1]:
            yield from _repairs(read[:at] + read[at + 1 :])


def _zero_filled(read: str) -> Iterator[str]:
    prefix, serial = read[:4], read[4:]
    if serial.isdigit():
        yield prefix + serial[:-1].zfill(6) + serial[-1]


def _readings(read: str) -> Iterator[tuple[Misread, Iterable[str]]]:
    """Yield what a text in normal form may have been, by kind; most of it fails its digit."""
    if len(read) == _LENGTH:
        repairs = _repairs(read)
        yield Misread.POSITION, repairs
        if len(repairs) < 10:
            yield Misread.LOOK_ALIKE, (text for base in repairs for text in _look_alikes(base))
        yield Misread.TRANSPOSED, _transpositions(read)
        yield Misread.WRONG_DIGIT, (base[:10] + marks.check_digit(base[:10]) for base in repairs)
        if _fits(read):
            yield Misread.SUBSTITUTED, _substitutions(read)
    elif len(read) == _LENGTH - 1:
        yield Misread.NO_DIGIT, (base + marks.check_digit(base) for base in _repairs(read))
        yield Misread.MISSING, _insertions(read)
    elif len(read) == _LENGTH + 1:
        yield Misread.DOUBLED, _deletions(read, doubled=True)
        yield Misread.EXTRA, _deletions(read, doubled=False)
    elif len(read) > _LENGTH + 1:
        windows = range(len(read) - _LENGTH + 1)
        yield Misread.EMBEDDED, (read[at : at + _LENGTH] for at in windows)
    if len(read) < _LENGTH:
        yield Misread.ZERO_FILLED, _zero_filled(read)


def candidates(as_read: str) -> dict[str, Misread]:
    """Return the marks a text may have been misread from, each with how.

    All are in normal form, of ISO 6346, and pass their digit. A text that reads as a mark is not
    among its own candidates.
    Some hundred at most, so that many texts' candidates can be looked up in one query.
    """
    read = marks.normalise(as_read)[:_LONGEST]
    found: dict[str, Misread] = {}
    if marks.is_sound(read) and marks.find_compact(as_read) is None:
        found[read] = Misread.EMBEDDED
    for kind, texts in _readings(read):
        for text in texts:
            if text not in found and text != read and marks.is_sound(text):
                found[text] = kind
    return found


def suggest(as_read: str, known: KnownMarks) -> tuple[Suggestion, ...]:
    """Return at most six marks that a text may have been misread from, the likeliest first.

    Expected marks come first, then units already known, then marks of a known owner code, then the
    rest; within each the likelier misreading. A mark that differs in a character that looks like
    nothing read is suggested only when the mark is known, or when its owner code alone is.
    """
    found = candidates(as_read)
    standings = known.which_exist(found)
    owners = known.owner_codes
    strange = marks.normalise(as_read)[:3] not in owners

    def is_worth_telling(mark: str) -> bool:
        if found[mark] is not Misread.SUBSTITUTED or mark in standings:
            return True
        return strange and mark[:3] in owners

    def rank(mark: str) -> tuple[int, bool, int]:
        standing = _STANDING_ORDER[standings.get(mark)]
        return standing, mark[:3] not in owners, _KIND_ORDER[found[mark]]

    best = sorted(filter(is_worth_telling, found), key=rank)[:MOST_SUGGESTIONS]
    return tuple(Suggestion(mark, found[mark], standings.get(mark)) for mark in best)


def similar_owner_codes(owner: str, known: Set[str]) -> list[str]:
    """Return the known owner codes one letter away that looks alike or has the same residue.

    Letters of the same residue modulo 11 count alike in the check digit, so that it never tells
    them apart. Sorted; empty when `owner` itself is known.
    """
    if not known or owner in known:
        return []
    near = {
        owner[:at] + other + owner[at + 1 :]
        for at, letter in enumerate(owner)
        for other in LOOK_ALIKES.get(letter, "") + _EQUAL_RESIDUE[letter]
    }
    return sorted(code for code in near if code in known)
