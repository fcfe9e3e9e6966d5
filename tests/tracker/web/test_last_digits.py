"""Units are found by the last digits of their mark, with or without the check digit."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, THIRD, report
from tests.support.draining import draining
from tests.support.marks import make_mark
from tracker.services import sight
from tracker.services.sight import Sight
from tracker.store.queries import StockFilter

if TYPE_CHECKING:
    from tests.support.web import Site

COMING = make_mark("ZZZU300907")


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
    twin = make_mark(f"HQXU{BOX[4:10]}")
    elsewhere = make_mark(f"KLLU{BOX[4:10]}")
    full.depot.record(report("gate-in", twin), report("gate-in", elsewhere, depot="SOUTH"))
    gate = full.person("NORTH:gate")
    asked: dict[str, Any] = {"mark": BOX[4:10], "reference": "COLLECT-71"}
    page = gate.get("/gate/departure", params=asked).text
    for mark in (BOX, twin):
        offer = f"mark={mark}&amp;reference=COLLECT-71&amp;haulier="
        assert f'href="/gate/departure?depot=NORTH&amp;{offer}"' in page
    assert page.count("/gate/departure?depot=NORTH&amp;mark=") == 2
    assert 'id="out-mark" name="mark" value=""' in page
    assert "No such box here" not in page


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


def test_gate_answers_at_once_where_only_one_ends_so(full: Site) -> None:
    full.depot.record(report("gate-in", f"HQXU{BOX[4:10]}0", depot="SOUTH"))
    gate = full.person("NORTH:gate")
    page = gate.get("/gate/departure", params={"mark": BOX[4:], "reference": "COLLECT-71"}).text
    assert f"You asked for {BOX[4:]}; in NORTH only this one fits." in page
    assert re.search(rf'id="mark" name="mark" value="{BOX}"', page)
    assert re.search(rf'id="out-mark" name="mark" value="{BOX}"', page)
    assert 'id="answer-word"' in page
    nothing = gate.get("/gate/departure", params={"mark": "0000000"}).text
    assert "No such box here" in nothing


def test_box_without_a_number_leaves_by_its_tag(full: Site) -> None:
    full.depot.record(report("gate-in", None, tag="T-12"))
    gate = full.person("NORTH:gate")
    for typed in ("#T-12", "t-12", "#NORTH/T-12"):
        page = gate.get("/gate/departure", params={"mark": typed, "depot": "NORTH"}).text
        assert 'id="out-mark" name="mark" value="#T-12"' in page, typed
    with draining(full):
        gate.post("/gate/departure", data=leaving("#T-12"))
    assert full.depot.show("#NORTH/T-12").record["presence"] == "away"
    assert full.depot.one("SELECT count(*) FROM records WHERE mark LIKE '%T%12%'") == 0


def leaving(mark: str, **more: str) -> dict[str, str]:
    said = {"kind": "gate-out", "depot": "NORTH", "mark": mark, "purpose": "scrap"}
    return said | {"form": str(new_id())} | more


def test_digits_of_a_departure_are_asked_about_before_anything_is_recorded(full: Site) -> None:
    gate = full.person("NORTH:gate")
    asked = gate.post("/gate/departure", data=leaving(BOX[4:]))
    assert asked.status_code == 422
    assert offered(asked.text) == [BOX, BOX[4:]]
    assert full.depot.show(BOX).record["presence"] == "in-depot"
    with draining(full):
        told = gate.post("/gate/departure", data=leaving(BOX, sure="mark"))
        other = gate.post("/gate/departure", data=leaving(BOX[4:], sure="mark"))
    assert (told.status_code, other.status_code) == (200, 200)
    assert full.depot.show(BOX).record["presence"] == "away"


def test_digits_of_an_arrival_are_asked_about_among_what_may_come(full: Site) -> None:
    full.depot.record(report("pre-advice", COMING), report("gate-out", OTHER, purpose="scrap"))
    gate = full.person("NORTH:gate")
    said = {"kind": "gate-in", "depot": "NORTH", "purpose": "purchase"}
    asked = gate.post("/gate/arrival", data=said | {"mark": COMING[-4:], "form": str(new_id())})
    assert (asked.status_code, offered(asked.text)) == (422, [COMING, COMING[-4:]])
    gone = gate.post("/gate/arrival", data=said | {"mark": OTHER[4:], "form": str(new_id())})
    assert offered(gone.text) == [OTHER, OTHER[4:]]
    chosen = {"mark": OTHER, "sure": "mark", "form": str(new_id())}
    why = gate.post("/gate/arrival", data=said | chosen)
    assert "Why does it come?" in why.text, "choosing the box answers no other question"


def test_walk_asks_which_ends_so_and_takes_a_tag(full: Site) -> None:
    full.depot.record(report("gate-in", None, tag="T-12"))
    client = full.person("NORTH:workshop")
    said = {"kind": "sighting", "depot": "NORTH", "slot": "B2"}
    asked = client.post("/walk", data=said | {"mark": THIRD[-5:], "form": str(new_id())})
    assert offered(asked.text) == [THIRD, THIRD[-5:]]
    with draining(full):
        for typed in ("#T-12", "t-12"):
            data = said | {"mark": typed, "form": str(new_id())}
            assert "<h1>Recorded</h1>" in client.post("/walk", data=data).text, typed
    assert full.depot.show("#NORTH/T-12").record["slot"] == "B2"


def offered(page: str) -> list[str]:
    """Return what may be chosen where a form is asked for again."""
    chosen = re.search(r'<select[^>]*name="mark".*?</select>', page, re.S)
    assert chosen is not None, page
    return re.findall(r'<option value="([^"]+)"', chosen[0])
