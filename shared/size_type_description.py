"""A decoded size-type as plain values that JSON can carry, for a sheet or an answer."""

from __future__ import annotations

from typing import Final

from shared import size_type_tables as tables
from shared.dimensions import find_designation
from shared.old_size_types import OldSizeType
from shared.size_type_parts import Height, Length, TypeMeaning
from shared.size_types import SizeType, what_follows

_CHARACTERS: Final = 4

Value = str | int | bool | None | list[str] | list[dict[str, str | bool | None]]
"""What a description holds: texts with their unit, whole mm, lists of both."""


def describe(size_type: SizeType | OldSizeType) -> dict[str, Value]:
    """Return what a code says, in the order a person wants to read it."""
    if isinstance(size_type, OldSizeType):
        return _describe_old(size_type)
    return {
        "code": size_type.code,
        "coding": "ISO 6346:1995 and later",
        **_describe_size(size_type.length, size_type.height),
        "meanings": [_describe_meaning(meaning) for meaning in size_type.meanings],
        "reduced_strength": size_type.has_reduced_strength,
        "height_marks": size_type.needs_height_marks,
        "iso_668": find_designation(size_type),
        "what_follows": list(what_follows(size_type)),
    }


def describe_known_part(code: str) -> dict[str, Value]:
    """Return what the first two characters say of a code whose type means nothing."""
    length, height = tables.lengths().get(code[:1]), tables.heights().get(code[1:2])
    if len(code) != _CHARACTERS or length is None or height is None:
        return {"code": code}
    return {"code": code, **_describe_size(length, height)}


def _describe_size(length: Length, height: Height) -> dict[str, Value]:
    return {
        "length": length.words,
        "length_mm": length.mm,
        "height": height.words,
        "height_mm": height.mm,
        "height_is": height.bound.value,
        "width": height.width.words,
    }


def _describe_meaning(meaning: TypeMeaning) -> dict[str, str | bool | None]:
    return {
        "type": meaning.text,
        "group": meaning.group,
        "detail": meaning.detail,
        "edition": meaning.edition.value,
        "reduced_strength": meaning.reduced,
        "source": meaning.source,
        "certainty": meaning.certainty.value,
    }


def _describe_old(old: OldSizeType) -> dict[str, Value]:
    return {
        "code": old.code,
        "coding": "numeric, before 1996",
        "length": f"{old.length_ft} ft",
        "length_mm": old.length_mm,
        "height": old.height,
        "height_from_mm": old.from_mm,
        "height_to_mm": old.to_mm,
        "gooseneck_tunnel": old.has_tunnel,
        "type": old.type_text,
        "nearest_today": old.suggested,
        "lost_or_assumed": list(old.losses),
        "certainty": old.certainty.value,
    }
