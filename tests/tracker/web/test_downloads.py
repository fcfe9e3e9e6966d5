"""Stock and history as CSV: as searched, as far as somebody sees, and no cell a formula."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, OTHER, THIRD, marks_of, report
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

NAME = "=HYPERLINK(1)"


@pytest.fixture
def stocked(site: Site) -> Site:
    """Two boxes at NORTH, one of them in a colour that is a formula, and one at SOUTH."""
    site.depot.record(
        report("gate-in", BOX, size_type="22G1", colour="=1+1", reported_by=NAME),
        report("gate-in", OTHER, size_type="45G1", note="+49 30"),
        report("gate-in", THIRD, depot="SOUTH", size_type="22G1"),
    )
    return site


def table(client: TestClient, path: str) -> list[dict[str, str]]:
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["content-disposition"].startswith("attachment; filename=")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))


def test_stock_is_downloaded_as_it_is_searched_and_as_far_as_it_is_seen(stocked: Site) -> None:
    client = stocked.person("NORTH:gate")
    assert [row["mark"] for row in table(client, "/stock.csv")] == sorted([BOX, OTHER])
    (row,) = table(client, "/stock.csv?length=20")
    assert (row["mark"], row["colour"], row["questions"]) == (BOX, "'=1+1", "0")
    assert '<a href="/stock.csv?length=20" download>' in client.get("/stock?length=20").text
    assert b",0,0," in client.get("/stock.csv").content, "numbers stay numbers"
    everywhere = stocked.person("*:sales", name="bo")
    assert len(table(everywhere, "/stock.csv")) == 3
    assert stocked.client().get("/stock.csv").status_code in (303, 401)


def test_stock_of_more_than_a_page_is_whole_and_by_mark(stocked: Site) -> None:
    fleet = marks_of(1100, "HQXU")
    for part in (fleet[:600], fleet[600:]):
        stocked.depot.record(*(report("gate-in", mark) for mark in part))
    listed = [row["mark"] for row in table(stocked.person("*:manager"), "/stock.csv")]
    assert listed == sorted([*fleet, BOX, OTHER, THIRD])


def test_history_of_a_unit_is_downloaded_row_by_row(stocked: Site) -> None:
    stocked.depot.record(report("restow", BOX, slot="B2"))
    client = stocked.machine(Scope.READ)
    first, second = table(client, f"/api/units/{BOX}/history.csv")
    assert (first["seq"], first["kind"], first["reported_by"]) == ("1", "gate-in", f"'{NAME}")
    assert (second["kind"], '"slot":"B2"' in second["said"]) == ("restow", True)
    seller = stocked.person("NORTH:sales")
    assert f'/api/units/{BOX}/history.csv"' in seller.get(f"/units/{BOX}").text
    assert seller.get(f"/api/units/{THIRD}/history.csv").status_code == 404
