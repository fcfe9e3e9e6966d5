"""The loader of the trade's data tables: CSV files whose every row names its source."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from importlib import resources

from shared.errors import KnowledgeError


class Certainty(StrEnum):
    """How well a fact is known. A rule that rests on `MEMORY` or `PRACTICE` never refuses.

    `READ` was read in two or more independent texts, `ONE_TEXT` in one, `DERIVED` was calculated
    from such facts, `MEMORY` has no text found to confirm it, and `PRACTICE` is common practice
    without a standard behind it. `DESIGN` marks a promise of our own, no claim about the outside.
    """

    READ = "read"
    ONE_TEXT = "one text"
    DERIVED = "derived"
    MEMORY = "memory"
    PRACTICE = "practice"
    DESIGN = "our own rule"


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a data table: its values as text, and where they come from."""

    values: Mapping[str, str]
    source: str
    certainty: Certainty

    def __getitem__(self, column: str) -> str:
        """Return the text in `column`, stripped; empty when the table leaves it open."""
        return self.values[column]


class TableFileError(KnowledgeError):
    """A data table that ships with the program cannot be read as one."""


def load_table(name: str) -> tuple[TableRow, ...]:
    """Read `shared/tables/<name>.csv` in the order of the file.

    Returns:
        One row per line. Lines that begin with `#` are comments. The columns `source` and
        `certainty` are required and stand apart from the other values.

    Raises:
        TableFileError: a column is missing, or a certainty is not one of `Certainty`.
    """
    text = (resources.files("shared") / "tables" / f"{name}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    reader = csv.DictReader(lines, strict=True)
    rows = []
    for number, raw in enumerate(reader, start=1):
        try:
            values = {column: value.strip() for column, value in raw.items()}
            source, certainty = values.pop("source"), Certainty(values.pop("certainty"))
        except (KeyError, ValueError, AttributeError) as fault:
            raise TableFileError(
                f"Row {number} of the table {name} cannot be read: {fault}",
                expected="a value in every column, `source` and `certainty` among them",
                remedy=f"Mend shared/tables/{name}.csv",
            ) from fault
        rows.append(TableRow(values, source, certainty))
    return tuple(rows)
