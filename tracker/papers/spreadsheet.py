"""Rows as CSV that a spreadsheet opens as what they are: numbers as numbers, text as text."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from io import StringIO
from typing import Final

# OWASP, "CSV Injection": a cell that begins with one of these may be run as a formula by the
# program that opens the file. Spreadsheets may drop blanks before it, and take the wide forms, too.
_RUNS: Final = ("=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}",
                "\N{FULLWIDTH HYPHEN-MINUS}", "\N{FULLWIDTH COMMERCIAL AT}")  # fmt: skip
_BREAKS: Final = ("\t", "\r", "\n", "\0")
_AS_TEXT: Final = "'"
_LOT: Final = 500

BYTE_ORDER_MARK: Final = "\ufeff"
"""Begins the file: without it spreadsheets take UTF-8 for something else."""

Cell = str | int | Decimal | None


def csv_of(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[bytes]:
    """Give a table as pieces of CSV in UTF-8, some hundred rows each, as the rows come.

    Texts are quoted, numbers are not, None is an empty cell (RFC 4180 otherwise).
    """
    written = StringIO(BYTE_ORDER_MARK, newline="")
    written.seek(0, 2)
    writer = csv.writer(written, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(headings)
    for number, row in enumerate(rows, start=1):
        writer.writerow([harmless(cell) for cell in row])
        if number % _LOT == 0:
            yield _taken_from(written)
    yield _taken_from(written)


def harmless(cell: Cell) -> Cell:
    """Return a cell that no spreadsheet takes for a formula: such a text behind an apostrophe."""
    if not isinstance(cell, str):
        return cell
    if cell.startswith(_BREAKS) or cell.lstrip().startswith(_RUNS):
        return _AS_TEXT + cell
    return cell


def _taken_from(written: StringIO) -> bytes:
    piece = written.getvalue().encode()
    written.seek(0)
    written.truncate()
    return piece
