"""The tables of size-type codes (ISO 6346:1995 and later), by code, and why a code is in none."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Final

from shared.size_type_parts import (
    Bound,
    Edition,
    Height,
    Length,
    MeaningChange,
    NoMeaning,
    TypeMeaning,
    Vents,
    WidthClass,
)
from shared.table_files import Certainty, TableRow, load_table

_NO_LETTER: Final = NoMeaning(
    "neither a group code nor a letter of reduced strength (ISO 6346:1995/Amd 3:2012 table copy)",
    Certainty.ONE_TEXT,
)
_SILENT: Final = NoMeaning("not in the tables of the editions read", Certainty.MEMORY)


def _feet(row: TableRow) -> Decimal | None:
    return Decimal(row["feet"]) + Decimal(row["inches"]) / 12 if row["feet"] else None


@cache
def lengths() -> dict[str, Length]:
    """Return every assigned length by its character."""
    return {
        row["code"]: Length(row["code"], int(row["mm"]), _feet(row), row.source, row.certainty)
        for row in load_table("size_lengths")
        if row["mm"]
    }


@cache
def heights() -> dict[str, Height]:
    """Return every assigned height and width by its character."""
    return {row["code"]: _height(row) for row in load_table("size_heights") if row["mm"]}


def _height(row: TableRow) -> Height:
    feet = _feet(row) or Decimal(0)
    bound, width = Bound(row["bound"]), WidthClass(row["width"])
    return Height(row["code"], int(row["mm"]), bound, feet, width, row.source, row.certainty)


@cache
def groups() -> dict[str, TypeMeaning]:
    """Return every group code, by its two letters."""
    return {
        row["code"]: TypeMeaning(
            text=row["meaning"],
            group=row["code"],
            detail=None,
            edition=Edition(row["edition"]),
            source=row.source,
            certainty=row.certainty,
        )
        for row in load_table("size_type_groups")
    }


@cache
def _beginnings() -> dict[str, str]:
    return {row["code"]: row["short"] for row in load_table("size_type_groups")}


@cache
def details() -> dict[str, tuple[TypeMeaning, ...]]:
    """Return every detailed code with its meanings, oldest edition first."""
    found: dict[str, tuple[TypeMeaning, ...]] = {}
    for row in load_table("size_type_details"):
        if row["meaning"]:
            found[row["code"]] = (*found.get(row["code"], ()), _detail(row))
    return found


def _detail(row: TableRow) -> TypeMeaning:
    begins = _beginnings()[row["group"]]
    return TypeMeaning(
        text=f"{begins}: {row['meaning']}" if begins else row["meaning"],
        group=row["group"],
        detail=row["code"],
        edition=Edition(row["edition"]),
        source=row.source,
        certainty=row.certainty,
        vents=Vents(row["vents"]) if row["vents"] else None,
        openings=row["openings"],
        change=MeaningChange(row["change"]) if row["change"] else None,
    )


@cache
def reduced_letters() -> dict[tuple[str, str], TableRow]:
    """Return (type letter, last letter) -> the row whose `digit` ends the full-strength code."""
    return {
        (family, row["letter"]): row
        for row in load_table("reduced_strength")
        for family in row["families"]
    }


@cache
def families() -> dict[str, TableRow]:
    """Return what a type letter stands for, whatever follows it."""
    return {row["letter"]: row for row in load_table("size_type_families")}


@cache
def _stated_unassigned() -> dict[tuple[str, str], NoMeaning]:
    tables = {"length": "size_lengths", "height": "size_heights", "type": "size_type_details"}
    blank = {"length": "mm", "height": "mm", "type": "meaning"}
    return {
        (part, row["code"]): NoMeaning(row.source, row.certainty)
        for part, table in tables.items()
        for row in load_table(table)
        if not row[blank[part]]
    }


def why_no_meaning(part: str, code: str) -> NoMeaning:
    """Return who says that a `length`, `height` or `type` code means nothing, and how surely.

    A character outside the tables for length, height and type letter is sure: those tables are
    whole. A type letter that exists with a digit that is not listed is not: the list of the
    newest edition was not obtained.
    """
    stated = _stated_unassigned().get((part, code))
    if stated is not None:
        return stated
    if part != "type":
        return NoMeaning(f"ISO 6346 Annex D lists every {part} code", Certainty.READ)
    family = families().get(code[0])
    if family is None:
        return NoMeaning("ISO 6346 Annex D lists every type letter", Certainty.READ)
    if family.certainty is Certainty.MEMORY:
        return NoMeaning(family.source, family.certainty)
    letter = reduced_letters().get((code[0], code[1]))
    if letter is not None:
        return _no_full_strength(code[0] + letter["digit"], letter)
    return _NO_LETTER if _letters_are_known(code) else _SILENT


def _no_full_strength(full: str, letter: TableRow) -> NoMeaning:
    """Say that a letter of reduced strength stands for a detail that means nothing itself."""
    why = why_no_meaning("type", full)
    unsure = letter.certainty is Certainty.MEMORY
    source = f"it would be {full} of reduced strength, and {full} is not known ({why.source})"
    return NoMeaning(source, Certainty.MEMORY if unsure else why.certainty)


def _letters_are_known(code: str) -> bool:
    """Say whether the last character is a letter where a text lists all that may stand there."""
    row = reduced_letters().get((code[0], "A"))
    return code[1].isalpha() and row is not None and row.certainty is Certainty.ONE_TEXT
