"""Units are found by the last digits of their mark, with or without the check digit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event

from tests.support.depot import BOX, OTHER, THIRD, report
from tracker.services import sight
from tracker.services.sight import Sight
from tracker.store.queries import StockFilter

if TYPE_CHECKING:
    from tests.support.web import Site


@pytest.fixture
def full(site: Site) -> Site:
    """A site with three units in NORTH."""
    site.depot.record(*(report("gate-in", mark) for mark in (BOX, OTHER, THIRD)))
    return site


def found(site: Site, digits: str) -> list[str]:
    wanted = StockFilter(digits=digits)
    return [one["mark"] for one in sight.list_stock(site.depot.web, Sight(None), wanted)]


@pytest.mark.parametrize("of", [slice(4, None), slice(-3, None), slice(4, 10), slice(7, 10)])
def test_unit_is_found_by_its_serial_or_the_last_digits_of_it(full: Site, of: slice) -> None:
    for mark in (BOX, OTHER, THIRD):
        assert mark in found(full, mark[of])
    assert found(full, BOX[4:]) == [BOX]
    assert found(full, "9999999") == []


def test_digits_are_no_pattern(full: Site) -> None:
    assert found(full, "%") == []


@pytest.mark.parametrize("path", ["/stock", "/sales"])
def test_page_finds_by_digits(full: Site, path: str) -> None:
    page = full.person("*:manager").get(path, params={"mark": f" {OTHER[4:]} "}).text
    assert OTHER in page
    assert BOX not in page


def test_api_finds_by_digits_and_refuses_what_are_none(full: Site) -> None:
    client = full.person("NORTH:sales")
    listed = client.get("/api/stock", params={"digits": THIRD[-4:]}).json()["units"]
    assert [one["mark"] for one in listed] == [THIRD]
    assert client.get("/api/stock", params={"digits": "12a"}).status_code == 422


def test_gate_offers_what_ends_so_and_nothing_of_another_depot(full: Site) -> None:
    full.depot.record(report("gate-in", f"HQXU{BOX[4:10]}0", depot="SOUTH"))
    gate = full.person("NORTH:gate")
    asked: dict[str, Any] = {"mark": BOX[4:], "reference": "COLLECT-71"}
    page = gate.get("/gate/departure", params=asked).text
    offer = (
        f'href="/gate/departure?depot=NORTH&amp;mark={BOX}&amp;reference=COLLECT-71&amp;haulier="'
    )
    assert offer in page
    assert page.count("/gate/departure?depot=NORTH&amp;mark=") == 1
    assert "ending so" not in gate.get("/gate/departure", params={"mark": "0000000"}).text


def test_plan_uses_the_index_where_there_are_many_units(full: Site) -> None:
    full.depot.tamper(
        "INSERT INTO records SELECT (jsonb_populate_record(r, jsonb_build_object("
        "'unit_id', gen_random_uuid(), 'mark', 'HQXU' || lpad(n::text, 7, '0')))).*"
        " FROM records r, generate_series(1, 60000) n WHERE r.mark = :mark",
        "ANALYZE records",
        mark=BOX,
    )
    sent: list[tuple[str, Any]] = []
    engine = full.depot.web.engine

    def note(_: object, __: object, statement: str, parameters: object, *___: object) -> None:
        sent.append((statement, parameters))

    event.listen(engine, "before_cursor_execute", note)
    try:
        assert found(full, "0034567") == ["HQXU0034567"]
    finally:
        event.remove(engine, "before_cursor_execute", note)
    (asked,) = [one for one in sent if "reverse" in one[0]]
    with full.depot.owner.begin() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN {asked[0]}", asked[1]).scalars().all()
    assert any("ix_records_mark_backwards" in line for line in plan), plan
