"""Which units fit what a buyer described."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

from schemas.records import Record
from shared.errors import KnowledgeError
from shared.size_types import SizeType, read_size_type


class Kind(NamedTuple):
    """All that a description asks of a unit."""

    size_type: str | None
    condition: str | None
    colour: str | None
    provenance: str | None


def kind_of(record: Record) -> Kind:
    """Return what of a unit a description asks."""
    return Kind(record.size_type, record.condition, record.colour, record.provenance)


def misfits(record: Record | Kind, description: dict[str, Any]) -> list[str]:
    """Return in what the unit differs from a description; empty when it fits.

    `description` is `schemas.descriptions.StockDescription` as JSON, with open fields left out.
    A unit whose size nobody has read fits no description.
    """
    size = size_of(record.size_type)
    if size is None:
        return ["its size is not known"]
    found = []
    if size.length_ft != description["length_ft"]:
        found.append(f"it is {size.length_ft} ft long")
    if size.type_letter not in description["types"]:
        found.append(f"its type code begins with {size.type_letter}")
    if (wanted := description.get("high")) is not None and wanted != size.high:
        found.append("it is 9 ft 6 in high" if size.high else "it is not 9 ft 6 in high")
    if (conditions := description.get("conditions")) and record.condition not in conditions:
        found.append(f"its condition is {record.condition or 'not decided'}")
    for name in ("colour", "provenance"):
        wanted_value = description.get(name)
        value = getattr(record, name)
        if wanted_value is not None and (value or "").casefold() != wanted_value.casefold():
            found.append(f"its {name} is {value or 'not known'}")
    return found


class Size(NamedTuple):
    """What a size-type code tells a buyer: length in whole feet, high or not, first type letter."""

    length_ft: int
    high: bool
    type_letter: str


@lru_cache(maxsize=1024)
def size_of(size_type: str | None) -> Size | None:
    """Return what a code tells; None when it is not known, old, or of no whole foot."""
    if size_type is None:
        return None
    try:
        read = read_size_type(size_type)
    except KnowledgeError:
        return None
    if not isinstance(read, SizeType) or read.length.feet is None or read.length.feet % 1:
        return None
    return Size(int(read.length.feet), read.needs_height_marks, read.code[2])
