"""One walk through all units, however its pages are read."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from tests.support.depot import Depot, marks_of, report
from tracker.services.listings import every_unit
from tracker.services.sight import Sight
from tracker.services.spreadsheets import stock_csv
from tracker.store import queries
from tracker.store.queries import StockFilter

if TYPE_CHECKING:
    from typing import Any

    from tracker.store.queries import StockKey


def test_every_unit_comes_once_by_mark_over_the_edges_of_pages(depot: Depot) -> None:
    depot.record(*(report("gate-in", mark) for mark in marks_of(5)))
    depot.record(*(report("gate-in", None, tag=f"T-{number}") for number in range(4)))
    sizes = []

    def page(after: StockKey | None, size: int) -> list[dict[str, Any]]:
        with depot.web.engine.begin() as connection:
            wanted = StockFilter(at=datetime(2026, 3, 2, tzinfo=UTC))
            found = queries.list_stock(connection, wanted, after=after, size=size)
        sizes.append(len(found))
        return found

    walked = [one["unit_id"] for one in queries.every_unit(page, 2)]
    assert sizes == [2, 2, 2, 2, 1, 0]
    assert len(set(walked)) == 9
    assert [one["unit_id"] for one in every_unit(depot.web, StockFilter())] == walked
    sent = b"".join(stock_csv(depot.web, Sight(None), StockFilter())).decode()
    assert [line.rpartition(",")[2].strip('"\r\n') for line in sent.splitlines()[1:]] == [
        str(one) for one in walked
    ]
