"""What a size-type code that cannot be decoded may have been: look-alike characters exchanged."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Final

from shared.size_type_errors import SizeTypeError
from shared.size_types import normalise, read_size_type
from shared.table_files import load_table

MOST_GUESSES: Final = 4
_LENGTH: Final = 4


def guess_size_types(text: str) -> tuple[str, ...]:
    """Return codes one look-alike away that decode, at most four; empty when none is near.

    A letter where the third place holds a digit comes first: codes painted today have one there.
    """
    code = normalise(text)
    if len(code) != _LENGTH:
        return ()
    found = dict.fromkeys(near for near in _one_exchanged(code) if _decodes(near))
    return tuple(sorted(found, key=str.isdigit))[:MOST_GUESSES]


def _one_exchanged(code: str) -> Iterator[str]:
    for place, character in enumerate(code):
        for other in _look_alikes().get(character, ()):
            yield code[:place] + other + code[place + 1 :]


@cache
def _look_alikes() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for row in load_table("look_alikes"):
        for one, other in ((row["one"], row["other"]), (row["other"], row["one"])):
            found[one] = (*found.get(one, ()), other)
    return found


def _decodes(code: str) -> bool:
    try:
        read_size_type(code)
    except SizeTypeError:
        return False
    return True
