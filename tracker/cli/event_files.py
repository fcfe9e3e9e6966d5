"""Reading files of events: lines of JSON, a JSON array, or CSV; one event each, as JSON bytes.

Nothing is judged here: what is no event goes on as it came, and is answered as `held`.

An event without an `id` gets one made of what it says, so that the same line sent again is the
same event; two lines that say the very same are one event, too. Such an event's `source` is `file`.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID, uuid5

import orjson

from tracker.services.cells import as_event

_NAMESPACE: Final = UUID("0f9c1f0e-52f7-5b1a-9c55-6f2f2c2c7a11")
_DELIMITERS: Final = ",;\t"


@dataclass(frozen=True, slots=True)
class Line:
    """One event of a file: the number of its line (or of its element), and its JSON."""

    number: int
    body: bytes
    fault: str | None = None
    """Why it cannot be an event, where the file itself says so."""


def read_events(content: bytes, *, name: str = "") -> Iterator[Line]:
    """Give the events of a file in their order; its suffix or its content tells its form.

    `.csv` is CSV. Otherwise an array is one, a first line whose columns include `kind` makes it
    CSV, and everything else is one JSON object per line; empty lines are passed over.
    """
    content = content.removeprefix(b"\xef\xbb\xbf")
    if name.lower().endswith((".csv", ".tsv")) or _begins_like_csv(content):
        return _read_csv(content)
    whole = _parse_whole(content)
    if whole is not None:
        return (_line(number, one) for number, one in enumerate(whole, start=1))
    return _read_lines(content)


def _begins_like_csv(content: bytes) -> bool:
    first = content.lstrip().partition(b"\n")[0].decode("utf-8", "replace")
    return not first.startswith(("{", "[")) and "kind" in _split(first, _delimiter(first))


def _parse_whole(content: bytes) -> list[Any] | None:
    """Return the elements of an array, or the one object written over several lines."""
    start = content.lstrip()
    if start.startswith(b"[") or (start.startswith(b"{") and not _is_object(_first_line(start))):
        try:
            parsed = orjson.loads(start)
        except orjson.JSONDecodeError:
            return None
        return parsed if isinstance(parsed, list) else [parsed]
    return None


def _first_line(content: bytes) -> bytes:
    return content.partition(b"\n")[0]


def _is_object(text: bytes) -> bool:
    try:
        return isinstance(orjson.loads(text), dict)
    except orjson.JSONDecodeError:
        return False


def _read_lines(content: bytes) -> Iterator[Line]:
    for number, text in enumerate(content.split(b"\n"), start=1):
        if not text.strip():
            continue
        try:
            said = orjson.loads(text)
        except orjson.JSONDecodeError:
            yield Line(number, text.strip())
        else:
            yield _line(number, said, text.strip())


def _line(number: int, said: object, text: bytes | None = None) -> Line:
    """Return an element as a line; its own text where it has an id, so that nothing is changed."""
    try:
        if isinstance(said, dict) and said.get("id") is None:
            return Line(number, orjson.dumps(with_id(said)))
        return Line(number, orjson.dumps(said) if text is None else text)
    except orjson.JSONEncodeError:
        return Line(number, text or b"", "it is nested deeper than any event")


def with_id(said: dict[str, Any]) -> dict[str, Any]:
    """Return an event with an id made of what it says."""
    content = {name: value for name, value in said.items() if name != "id"}
    text = orjson.dumps(content, option=orjson.OPT_SORT_KEYS)
    return {"source": "file", **content, "id": str(uuid5(_NAMESPACE, text.hex()))}


def _read_csv(content: bytes) -> Iterator[Line]:
    text = content.decode("utf-8", "surrogateescape")
    delimiter = _delimiter(text.lstrip().partition("\n")[0])
    # One limit for the process; a cell beyond it would end the reading of the whole file.
    csv.field_size_limit(max(csv.field_size_limit(), len(text)))
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    headings: list[str] = []
    for number, row in _numbered(rows):
        if not any(cell.strip() for cell in row):
            continue
        if not headings:
            # A heading that is not written in UTF-8 names no field, and is shown as it can be.
            headings = [cell.strip().encode("utf-8", "replace").decode() for cell in row]
            continue
        yield _csv_line(number, headings, row, delimiter)


def _numbered(rows: Any) -> Iterator[tuple[int, list[str]]]:  # noqa: ANN401 - csv names no type for its reader
    """Give each row with the line it begins on; a row may go over several."""
    begins = 1
    for row in rows:
        yield begins, row
        begins = rows.line_num + 1


def _csv_line(number: int, headings: list[str], row: list[str], delimiter: str) -> Line:
    raw = delimiter.join(row).encode("utf-8", "surrogateescape")
    try:
        raw.decode()
    except UnicodeDecodeError as fault:
        return Line(number, raw, f"it is not written in UTF-8 (byte {fault.start + 1})")
    if any(cell.strip() for cell in row[len(headings) :]):
        says = f"it has {len(row)} cells, but there are {len(headings)} headings"
        return Line(number, raw, says)
    cells = {name: cell.strip() for name, cell in zip(headings, row, strict=False) if cell.strip()}
    said = as_event(cells)
    return Line(number, orjson.dumps(said if "id" in said else with_id(said)))


def _delimiter(heading: str) -> str:
    return max(_DELIMITERS, key=heading.count)


def _split(heading: str, delimiter: str) -> Iterable[str]:
    return [cell.strip().strip('"') for cell in heading.split(delimiter)]
