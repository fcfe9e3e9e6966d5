"""A batch to be announced, as people write it: a sequence of marks, a list of them, or both.

What a line of the list says of a unit goes before what is said of all of them. With a sequence the
list holds the exceptions to it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from shared import marks
from shared.errors import HardstandError
from shared.serials import marks_from
from tracker.services.cells import as_event

MOST: Final = 1000
"""Units announced at once."""

_SHORT: Final = {
    "gross_kg": "masses.gross_kg",
    "tare_kg": "masses.tare_kg",
    "payload_kg": "masses.payload_kg",
}
"""What a list may call a column that belongs to the masses."""

COLUMNS: Final = (
    "mark",
    *_SHORT,
    *_SHORT.values(),
    "size_type",
    "manufactured_in",
    "colour",
    "provenance",
    "approval_reference",
    "expected_on",
    "supplier",
    "note",
)


class AnnouncementError(HardstandError):
    """A batch cannot be announced as it is written; says where."""


@dataclass(frozen=True, slots=True)
class Advised:
    """One unit to be announced: which line says so (of the list or the sequence), and its cells."""

    line: int
    cells: dict[str, str] = field(default_factory=dict)

    def event(self, shared: Mapping[str, str]) -> dict[str, Any]:
        """Return the pre-advice, without id and reporter."""
        return as_event({"kind": "pre-advice", **shared, **self.cells})


def of_sequence(first: str, count: int, *, keep_tens: bool = False) -> list[Advised]:
    """Return units whose serials go up from one; raises as `shared.serials.marks_from`."""
    listed = marks_from(first, count, keep_tens=keep_tens)
    return [Advised(number, {"mark": mark}) for number, mark in enumerate(listed, start=1)]


def of_list(text: str, *, columns: Sequence[str] | None = None) -> list[Advised]:
    """Return the units of a list: marks one a line, or CSV whose first line names its columns.

    Cells that are empty are left to what all share.

    Args:
        text: As it was pasted or read; `,`, `;` and tabs separate.
        columns: The only columns there may be; without them any that an event has.

    Raises:
        AnnouncementError: there is no column `mark`, or one that may not be; or too many units.
    """
    text = text.lstrip("\ufeff").lstrip()
    if not text:
        return []
    heading = text.partition("\n")[0]
    delimiter = max(",;\t", key=heading.count)
    names = [name.strip().lower() for name in heading.split(delimiter)]
    if "mark" not in names:
        if marks.find_compact(heading) is None:
            raise AnnouncementError(
                "The list has no column `mark`",
                expected="a first line that names the columns, one of them `mark`",
                remedy="Or give marks alone, one a line",
            )
        return _limited(
            [Advised(n, {"mark": line.strip()}) for n, line in _lines(text) if line.strip()]
        )
    if columns and (unknown := [name for name in names if name and name not in columns]):
        raise AnnouncementError(
            f"The list has a column {unknown[0]!r} that nothing is known by",
            expected=", ".join(columns),
        )
    rows = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter)
    return _limited([one for one in _rows(rows) if one.cells])


def with_exceptions(units: Sequence[Advised], exceptions: Sequence[Advised]) -> list[Advised]:
    """Return the units of a sequence, each with what the list says of it besides.

    Raises:
        AnnouncementError: a line of the list is about a unit that the sequence does not hold.
    """
    said = {marks.find_compact(one.cells.get("mark", "")): one for one in exceptions}
    merged = [
        Advised(unit.line, unit.cells | _without_mark(said.pop(unit.cells["mark"], None)))
        for unit in units
    ]
    for left in said.values():
        raise AnnouncementError(
            f"Line {left.line}: {left.cells.get('mark', 'no mark')} is none of the sequence",
            expected="exceptions to units of the sequence, each with its whole mark",
            remedy="Announce it by itself, or begin the sequence elsewhere",
        )
    return merged


def _without_mark(exception: Advised | None) -> dict[str, str]:
    cells = exception.cells if exception else {}
    return {name: cell for name, cell in cells.items() if name != "mark"}


def _lines(text: str) -> list[tuple[int, str]]:
    return list(enumerate(text.splitlines(), start=1))


def _rows(rows: csv.DictReader[str]) -> list[Advised]:
    found = []
    for row in rows:
        cells = {
            _SHORT.get(name.strip().lower(), name.strip()): cell.strip()
            for name, cell in row.items()
            if isinstance(name, str) and isinstance(cell, str) and name.strip() and cell.strip()
        }
        found.append(Advised(rows.line_num, cells))
    return found


def _limited(units: list[Advised]) -> list[Advised]:
    if len(units) > MOST:
        raise AnnouncementError(
            f"{len(units)} units are more than can be announced at once",
            expected=f"at most {MOST}",
            remedy="Announce them in parts, under the same batch",
        )
    return units
