"""Size-type codes as painted on a box (ISO 6346): read, decoded, and what follows from them.

A code is four characters: length, height with width, and two for the type. The type ends in a
digit (detailed code), in a letter of reduced strength, or is two letters (group code). `TD` and
`TG` can be read either way, and B3 to B9 mean one thing before and another after the amendment of
2012: every meaning is returned, none is chosen.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from shared import size_type_tables as tables
from shared.old_size_types import OldSizeType, decode_old_size_type
from shared.size_type_errors import SizeTypeUnassignedError, SizeTypeUnreadableError
from shared.size_type_parts import (
    Bound,
    Edition,
    Height,
    Length,
    MeaningChange,
    TypeMeaning,
    Vents,
    WidthClass,
    as_reduced,
)

HIGHEST_WITHOUT_MARKS_MM: Final = 2600
"""A box higher than this bears height marks (ISO 6346; one text)."""


@dataclass(frozen=True, slots=True)
class SizeType:
    """A decoded code. Holds every meaning of its type; says nothing of what was measured.

    `meanings` has at least one member. More than one: the code alone does not settle which.
    """

    code: str
    length: Length
    height: Height
    meanings: tuple[TypeMeaning, ...]

    @property
    def only_meaning(self) -> TypeMeaning | None:
        """Return the meaning of the type when there is just one, else None."""
        return self.meanings[0] if len(self.meanings) == 1 else None

    @property
    def is_ambiguous(self) -> bool:
        """Say whether it may be a group code or a detail of reduced strength (TD, TG)."""
        return len({meaning.reduced for meaning in self.meanings}) > 1

    @property
    def editions(self) -> tuple[Edition, ...]:
        """Return the editions the meanings come from, oldest first."""
        return tuple(dict.fromkeys(sorted(meaning.edition for meaning in self.meanings)))

    @property
    def has_reduced_strength(self) -> bool | None:
        """Say whether the last letter means reduced stacking or racking; None when ambiguous."""
        return None if self.is_ambiguous else self.meanings[0].reduced

    @property
    def needs_height_marks(self) -> bool:
        """Say whether the box is so high that it bears its height and striped corners."""
        return self.height.bound is not Bound.AT_MOST and (
            self.height.mm > HIGHEST_WITHOUT_MARKS_MM
        )


def normalise(text: str) -> str:
    """Return the text in capitals without spaces, dashes and dots; it need be no code.

    Letters outside ASCII are left alone: some of them turn into ASCII when made capital.
    """
    code = "".join(text.split()).replace("-", "").replace(".", "")
    return code.upper() if code.isascii() else code


def read_size_type(text: str) -> SizeType | OldSizeType:
    """Decode a code as painted; four digits are the numeric coding from before 1996.

    Raises:
        SizeTypeUnreadableError: not four characters, or no letter where the type stands.
        SizeTypeUnassignedError: a part has no meaning; `part` says which.
    """
    return _read(normalise(text))


@lru_cache(maxsize=4096)
def _read(code: str) -> SizeType | OldSizeType:
    if len(code) != 4 or not (code.isascii() and code.isalnum()):
        raise SizeTypeUnreadableError(code)
    if code.isdigit():
        return decode_old_size_type(code)
    if not code[2].isalpha():
        raise SizeTypeUnreadableError(code)
    return SizeType(code, _length(code), _height(code), _meanings(code))


def decode_size_type(text: str) -> SizeType:
    """Decode a code that has a type letter; raises as `read_size_type`, numeric codes too."""
    found = read_size_type(text)
    if isinstance(found, OldSizeType):
        raise SizeTypeUnreadableError(found.code)
    return found


def _length(code: str) -> Length:
    length = tables.lengths().get(code[0])
    if length is None:
        raise _unassigned(code, "length", code[0])
    return length


def _height(code: str) -> Height:
    height = tables.heights().get(code[1])
    if height is None:
        raise _unassigned(code, "height", code[1])
    return height


def _meanings(code: str) -> tuple[TypeMeaning, ...]:
    painted = code[2:]
    group = tables.groups().get(painted)
    found = (*((group,) if group else ()), *_detailed(painted), *_reduced(painted))
    if not found:
        raise _unassigned(code, "type", painted)
    return found


def _detailed(painted: str) -> tuple[TypeMeaning, ...]:
    return tables.details().get(painted, ())


def _reduced(painted: str) -> tuple[TypeMeaning, ...]:
    """Return what a letter of reduced strength stands for.

    The letters came with the amendment of 2012: where that gave a detail another meaning, only
    the later one can be meant, and where the later one is not known, nothing is.
    """
    letter = tables.reduced_letters().get((painted[0], painted[1]))
    if letter is None:
        return ()
    full = tables.details().get(painted[0] + letter["digit"], ())
    return tuple(
        as_reduced(one, letter)
        for one in full
        if one.edition is Edition.AMENDMENT_3 or one.change is not MeaningChange.CHANGED
    )


def _unassigned(code: str, part: str, characters: str) -> SizeTypeUnassignedError:
    why = tables.why_no_meaning(part, characters)
    return SizeTypeUnassignedError(code, part, characters, why.source, why.certainty)


def what_follows(size_type: SizeType) -> tuple[str, ...]:
    """Return what the code asks somebody to look for on the box, as sentences."""
    says: list[str] = []
    if size_type.needs_height_marks:
        says.append(
            "Higher than 8 ft 6 in: the height stands on both sides, and black and yellow "
            "stripes on the top members at each corner."
        )
    if size_type.height.width is not WidthClass.STANDARD:
        says.append("Wider than the 2438 mm of ISO 668: measure before it stands among others.")
    meaning = size_type.only_meaning
    if meaning is not None:
        says.extend(_what_the_type_asks(meaning))
    return tuple(says)


def _what_the_type_asks(meaning: TypeMeaning) -> list[str]:
    says = [_VENT_SENTENCES[meaning.vents]] if meaning.vents else []
    if meaning.openings:
        says.append(_OPENING_SENTENCES[meaning.openings])
    if meaning.reduced:
        says.append("Reduced strength: read stacking and racking on the safety plate.")
    return says


_VENT_SENTENCES: Final = {
    Vents.NONE: "No vents: count the small vents, there should be none.",
    Vents.PASSIVE: "Passive vents: count the small vents near the top of the sides.",
    Vents.NATURAL: "Ventilated: vents near the floor and near the top.",
    Vents.MECHANICAL: "Ventilated by a machine: look for the fan and its openings.",
}
_OPENING_SENTENCES: Final = {
    "end": "Doors or openings at one end or both.",
    "end and side": "Doors or openings at an end and on one side or both.",
    "end and full side": "Doors at an end, and one side or both open over their full length.",
    "end and partial side": "Doors at an end, and part of one side or both opens.",
    "none": "No doors: the side and end walls are complete and fixed.",
}
