"""Where damage is: the location grid of ISO 9897, four characters over sections of about 1.2 m.

Face, part of the face, first and last section. One section alone is its number and `N`; `XX` is
the whole length. The tenth section is written `0`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from typing_extensions import override

from shared.errors import KnowledgeError
from shared.table_files import Certainty, TableRow, load_table

_ALONE: Final = "N"
_ALL: Final = "XX"
_DIGITS: Final = "1234567890"
_ENDS: Final = frozenset("FD")
_ANY: Final = "any"


class DamageLocationError(KnowledgeError):
    """A text is no location of the grid; carries it."""

    def __init__(self, text: str, fault: str, *, expected: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no place on a container: {fault}",
            expected=expected,
            remedy="Name face, part and sections, such as LB24, or RT3N for one section alone",
        )


@dataclass(frozen=True, slots=True)
class SectionCount:
    """How many sections a face has, and how sure that is."""

    sections: int
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class DamageLocation:
    """A place on a container; left and right are seen from the door end, looking in.

    `face` and `part` are the letters. `first` and `last` count sections from 1 to 10: from the
    door end along the box, from left to right at an end. Both are None for the whole face.
    Knows no box: whether the sections exist depends on the length, see `is_beyond`.
    """

    face: str
    part: str
    first: int | None
    last: int | None

    @override
    def __str__(self) -> str:
        """Write the four characters."""
        if self.first is None or self.last is None:
            return f"{self.face}{self.part}{_ALL}"
        last = _ALONE if self.first == self.last else _DIGITS[self.last - 1]
        return f"{self.face}{self.part}{_DIGITS[self.first - 1]}{last}"

    def describe(self) -> str:
        """Return the place in plain words: `left side, bottom half, sections 2 to 4`."""
        if self.face == "X":
            face = [_faces()[self.face]["words"]]
        else:
            face = [_faces()[self.face]["words"], _parts()[self.part]["words"]]
        return ", ".join([*face, *self._section_words()])

    def _section_words(self) -> list[str]:
        if self.first is None or self.last is None:
            return []
        start = "from the left" if self.face in _ENDS else "from the doors"
        if self.first == self.last:
            return [f"section {self.first} {start}"]
        return [f"sections {self.first} to {self.last} {start}"]

    def is_beyond(self, length_ft: int) -> bool:
        """Say whether the face of a box this long has fewer sections; False when not known.

        The counts are from memory: ask, do not refuse.
        """
        count = find_section_count(self.face, length_ft)
        return count is not None and self.last is not None and self.last > count.sections


def parse_location(text: str) -> DamageLocation:
    """Read four characters of the grid, in any case and spacing.

    Raises:
        DamageLocationError: the text is not four characters, names no face or part, or its
            sections are none or do not run upwards.
    """
    code = "".join(text.split())
    if len(code) != 4 or not code.isascii():
        raise DamageLocationError(text, "it has not four characters", expected="four characters")
    code = code.upper()
    face, part = _face(text, code[0]), _part(text, code)
    first, last = _sections(text, code[2:])
    return DamageLocation(face, part, first, last)


@cache
def find_section_count(face: str, length_ft: int) -> SectionCount | None:
    """Return the sections a face has at a nominal length in feet, None when it is not known."""
    if _faces()[face]["lies"] == _ANY:
        return None
    wanted = ("end", "") if face in _ENDS else ("along", str(length_ft))
    for row in load_table("damage_sections"):
        if (row["face"], row["feet"]) == wanted:
            return SectionCount(int(row["sections"]), row.source, row.certainty)
    return None


@cache
def _faces() -> dict[str, TableRow]:
    return {row["letter"]: row for row in load_table("damage_faces")}


@cache
def _parts() -> dict[str, TableRow]:
    return {row["letter"]: row for row in load_table("damage_parts")}


def _face(text: str, letter: str) -> str:
    if letter not in _faces():
        expected = f"a face: one of {', '.join(_faces())}"
        raise DamageLocationError(text, f"{letter} is no face", expected=expected)
    return letter


def _part(text: str, code: str) -> str:
    lies = _faces()[code[0]]["lies"]
    able = [
        letter for letter, row in _parts().items() if lies == _ANY or lies in row["lies"].split()
    ]
    if code[1] not in able:
        face = _faces()[code[0]]["words"]
        expected = f"a part of the {face}: one of {', '.join(able)}"
        raise DamageLocationError(text, f"{code[1]} is no part of the {face}", expected=expected)
    return code[1]


def _sections(text: str, pair: str) -> tuple[int | None, int | None]:
    if pair == _ALL:
        return None, None
    if pair[0] in _DIGITS and pair[1] == _ALONE:
        alone = _DIGITS.index(pair[0]) + 1
        return alone, alone
    if not (pair[0] in _DIGITS and pair[1] in _DIGITS):
        expected = "two section digits, a digit and N, or XX for the whole length"
        raise DamageLocationError(text, f"{pair} names no sections", expected=expected)
    first, last = (_DIGITS.index(digit) + 1 for digit in pair)
    if first >= last:
        expected = "the lower section first, and N after a section that stands alone"
        raise DamageLocationError(text, f"sections {pair} do not run upwards", expected=expected)
    return first, last
