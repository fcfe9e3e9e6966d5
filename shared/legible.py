"""Texts of strangers as they may be shown: nothing in them steers a terminal or turns the eye."""

from __future__ import annotations

from typing import Final

_KEPT: Final = frozenset("\n\t")
_DROPPED: Final = frozenset("\r\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""What goes back to the line's start, and what turns the text after it around: a name could make
the next words read otherwise."""
_NO_SIGNS: Final = frozenset(map(chr, (*range(0x20), *range(0x7F, 0xA0), *range(0xD800, 0xE000))))
"""Control characters, the escape that terminals obey among them, and halves of characters."""

_SHOWN: Final = str.maketrans(
    dict.fromkeys(_NO_SIGNS - _KEPT, "\N{REPLACEMENT CHARACTER}") | dict.fromkeys(_DROPPED, "")
)


def legible(text: str) -> str:
    """Return a text without what is obeyed instead of read; lines, tabs and scripts stay."""
    return text if text.isprintable() else text.translate(_SHOWN)


def as_shown(value: object) -> object:
    """Return what a template shows of a value: of plain texts and errors only what is legible.

    Markup is a text of a kind of its own: it was made from legible parts, and stays.
    """
    if isinstance(value, Exception):
        value = str(value)
    return legible(value) if type(value) is str else value
