"""CSV that a spreadsheet opens as what it is; its rules from OWASP, "CSV Injection"."""

import csv
import re
from collections.abc import Iterator
from decimal import Decimal

import pytest

from tracker.papers.spreadsheet import Cell, csv_of, harmless

FORMULAS = (
    "=1+1",
    "+49 30 1234",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "  =1+1",
    "\N{NO-BREAK SPACE}=1",
    "\N{FULLWIDTH EQUALS SIGN}1",
    "=cmd|' /C calc'!A0",
)


def read(pieces: Iterator[bytes]) -> list[list[object]]:
    text = b"".join(pieces).decode("utf-8-sig")
    return list(csv.reader(text.splitlines(keepends=True), quoting=csv.QUOTE_NONNUMERIC))  # type: ignore[arg-type]


@pytest.mark.parametrize("formula", FORMULAS)
def test_formula_is_text_behind_an_apostrophe(formula: str) -> None:
    assert harmless(formula) == f"'{formula}"
    (_, row) = read(csv_of(["a"], [[formula]]))
    assert row[0] == f"'{formula}"


@pytest.mark.parametrize("cell", ["", "a=b", "22G1", "A1-2", "'", "Ada - Quill", 5, -5, None])
def test_what_is_no_formula_stays_as_it_is(cell: Cell) -> None:
    assert harmless(cell) == cell


def test_numbers_are_bare_and_texts_are_quoted() -> None:
    row: list[Cell] = ["22", -3, Decimal("1450.50"), None, 'a "b", c; d\ne']
    written = b"".join(csv_of(["text", "n", "d", "none", "odd"], [row])).decode()
    assert written.startswith('\ufeff"text","n","d","none","odd"\r\n')
    assert '"22",-3,1450.50,"","a ""b"", c; d\ne"\r\n' in written


def test_headings_stand_where_there_is_nothing() -> None:
    assert read(csv_of(["a", "b"], [])) == [["a", "b"]]


def test_pieces_come_while_rows_are_still_read() -> None:
    taken = 0

    def rows() -> Iterator[list[Cell]]:
        nonlocal taken
        for number in range(1201):
            taken += 1
            yield [number, "x"]

    pieces = csv_of(["n", "x"], rows())
    first = next(pieces)
    assert taken == 500
    assert len(re.findall(rb"\r\n", first)) == 501
    numbers = [row[0] for row in read(iter([first, *pieces]))[1:]]
    assert numbers == [float(number) for number in range(1201)]
