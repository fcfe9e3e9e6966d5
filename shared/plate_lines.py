"""The lines of a safety plate, in the wording since July 2014 and in the one before."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from shared.table_files import Certainty, load_table


class Wording(StrEnum):
    """Which vocabulary a plate speaks: mass, load and force, or weight and test load value."""

    SINCE_2014 = "since July 2014"
    BEFORE_2014 = "before July 2014"


@dataclass(frozen=True, slots=True)
class PlateLine:
    """One line of the plate. Titles are empty where the plate prints none."""

    number: str
    """`1` to `9`, or a word for a line without a number."""
    title: str
    title_before_2014: str
    content: str
    fields: tuple[str, ...]
    """The fields of a plate reading that the line fills; none for the title."""
    fields_before_2014: tuple[str, ...]
    only_if: str
    source: str
    certainty: Certainty

    def titled(self, wording: Wording) -> str:
        """Return the line's title in a wording; empty when the plate prints none."""
        match wording:
            case Wording.SINCE_2014:
                return self.title
            case Wording.BEFORE_2014:
                return self.title_before_2014
            case _:
                assert_never(wording)


PLATE_LINES = tuple(
    PlateLine(
        row["line"],
        row["title"],
        row["title_before_2014"],
        row["content"],
        tuple(row["fields"].split()),
        tuple(row["fields_before_2014"].split()),
        row["only_if"],
        row.source,
        row.certainty,
    )
    for row in load_table("plate_lines")
)


def find_line(title: str) -> PlateLine | None:
    """Return the line whose title reads so in either wording, whatever its case; else `None`."""
    sought = " ".join(title.upper().split())
    if not sought:
        return None
    for line in PLATE_LINES:
        if sought in (line.title.upper(), line.title_before_2014.upper()):
            return line
    return None


def title_of_field(field: str, wording: Wording) -> str | None:
    """Return the title above a plate reading's field in a wording; `None` when it has no line."""
    for line in PLATE_LINES:
        fields = line.fields if wording is Wording.SINCE_2014 else line.fields_before_2014
        if field in fields:
            return line.titled(wording)
    return None
