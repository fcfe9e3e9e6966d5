"""The stock, and the history of one unit, as tables for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any, Final

import orjson

from tracker.papers.spreadsheet import Cell, csv_of
from tracker.services import sight
from tracker.services.context import Context
from tracker.services.sight import Sight
from tracker.services.unit_view import UnitView
from tracker.store import queries
from tracker.store.queries import StockFilter

STOCK_COLUMNS: Final = (
    "mark", "mark_state", "tag", "presence", "depot", "slot", "size_type", "condition",
    "provenance", "colour", "manufactured_on", "examination_on", "arrived_at", "fittings",
    "stands", "questions", "breaches", "mend_by", "unit_id",
)  # fmt: skip
HISTORY_COLUMNS: Final = (
    "seq", "kind", "effective_at", "recorded_at", "depot", "reported_by", "said", "found",
    "brought_by", "replaced_by", "id", "digest",
)  # fmt: skip
_SHOWN_APART: Final = frozenset({"kind", "id", "schema_version", "depot", "reported_by"})


def stock_csv(context: Context, seen: Sight, wanted: StockFilter) -> Iterator[bytes]:
    """Give the units at their depots as CSV, read page by page while it is sent.

    Each page is a transaction of its own: whoever takes the file slowly holds nothing open.
    """
    return units_csv(
        queries.every_unit(
            lambda after, size: sight.list_stock(context, seen, wanted, after=after, size=size)
        )
    )


def units_csv(units: Iterable[dict[str, Any]]) -> Iterator[bytes]:
    """Give units as they are listed as CSV."""
    return csv_of(STOCK_COLUMNS, ([_cell(one[name]) for name in STOCK_COLUMNS] for one in units))


def history_csv(view: UnitView) -> Iterator[bytes]:
    """Give the history of a unit as CSV, as far as the view shows it; `said` is JSON."""
    return csv_of(HISTORY_COLUMNS, map(_row, view.history))


def _row(row: dict[str, Any]) -> list[Cell]:
    said = {name: value for name, value in row["event"].items() if name not in _SHOWN_APART}
    told = " ".join(f"{one['severity']}: {one['message']}" for one in row["findings"])
    cells = row | {"said": orjson.dumps(said).decode(), "found": told}
    return [_cell(cells.get(name)) for name in HISTORY_COLUMNS]


def _cell(value: Any) -> Cell:  # noqa: ANN401 - a column, or JSON
    match value:
        case None | int() | str():
            return value
        case list():
            return " ".join(map(str, value))
        case datetime() | date():
            return value.isoformat()
        case _:
            return str(value)
