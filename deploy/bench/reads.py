"""How reading stays flat as stock grows: a unit's history and a page of stock, beside bare SQL."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import partial

import psutil
from sqlalchemy import text

from deploy.bench import stock
from deploy.bench.bench_house import House
from deploy.bench.rows import Row, median_seconds, seconds
from tracker.services.daily_round import make_rounds
from tracker.services.unit_view import show_unit
from tracker.store import queries
from tracker.store.queries import StockFilter

_REPEATS = 60

_BARE_HISTORY = text(
    "SELECT history.* FROM marks JOIN history ON stream_id = unit_id"
    " WHERE subject = :mark ORDER BY seq"
)
_BARE_STOCK = text(
    "SELECT mark, depot, slot, size_type, condition FROM records"
    " WHERE depot = 'NORTH' AND presence = 'in-depot' ORDER BY mark LIMIT 100"
)


def measure(house: House, sizes: list[int], today: date) -> list[Row]:
    """Return the rows about reading at each of `sizes` units, and of the daily round at the last.

    The house must be empty.
    """
    stock.plant(house)
    rows, first_s, have = [], 0.0, 0
    for units in sizes:
        stock.grow(house, have, units - 1, today)
        have = units
        mark = f"ZZQU{units // 2:07d}"
        ours = median_seconds(partial(show_unit, house.web, mark), _REPEATS)
        bare = median_seconds(_bare(house, mark), _REPEATS)
        rows.append(
            Row(f"whole history of a unit, {units:,} units", ours * 1000, "ms",
                bare * 1000, "bare SQL", 4, most=True, units=units)
        )  # fmt: skip
        first_s = first_s or ours
        page = median_seconds(lambda: _page(house), _REPEATS)
        bare_page = median_seconds(_bare(house, None), _REPEATS)
        rows.append(
            Row(f"a page of stock, {units:,} units", page * 1000, "ms",
                bare_page * 1000, "bare SQL", units=units)
        )  # fmt: skip
        if units == sizes[-1]:
            rows.append(
                Row(f"the same history, {units:,} units against {sizes[0]:,}", ours * 1000, "ms",
                    first_s * 1000, f"{sizes[0]:,} units", 1.3, most=True)
            )  # fmt: skip
        # Each on a day of its own: the round is made once a day.
        rows += _round(house, units, today + timedelta(days=len(rows)))
    return rows


def _round(house: House, units: int, today: date) -> list[Row]:
    before = psutil.Process().memory_info().rss
    took = seconds(lambda: make_rounds(house.worker, on=today))
    grown = psutil.Process().memory_info().rss - before
    return [
        Row(f"daily round, {units:,} units, {units // 33:,} due", took, "s",
            target=30, most=True, units=units),
        Row(f"memory that the round at {units:,} units added", grown / 1e6, "MB", units=units),
    ]  # fmt: skip


def _page(house: House) -> None:
    with house.web.engine.begin() as connection:
        queries.list_stock(connection, StockFilter(depot="NORTH", presence="in-depot"))


def _bare(house: House, mark: str | None) -> Callable[[], object]:
    def ask() -> object:
        with house.web.engine.begin() as connection:
            if mark is None:
                return connection.execute(_BARE_STOCK).all()
            return connection.execute(_BARE_HISTORY, {"mark": mark}).all()

    return ask
