"""Walking the stacks without script: what is seen or moved, and a stock check by page."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, THIRD, report
from tests.support.draining import draining

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

STRAY = "HQXU3000106"


def say(site: Site, client: TestClient, mark: str, slot: str, **more: str) -> str:
    said = {"kind": "sighting", "depot": "NORTH", "mark": mark, "slot": slot, **more}
    with draining(site):
        answer = client.post("/walk", data=said | {"form": str(new_id())})
    return answer.text


def listed(page: str, name: str) -> list[str]:
    found = re.search(rf'<details[^>]*id="{name}".*?</details>', page, re.S)
    return re.findall(r'data-mark="([^"]+)"', found[0]) if found else []


def check_of(page: str) -> str:
    found = re.search(r'id="check" value="([^"]+)"', page)
    assert found is not None
    return found[1]


def test_stock_check_tells_by_page_what_it_misses_until_it_is_finished(site: Site) -> None:
    site.depot.record(
        report("gate-in", BOX, slot="A1"),
        report("gate-in", OTHER, slot="A2"),
        report("gate-in", THIRD, slot="A3"),
    )
    client = site.person("NORTH:workshop", shown_as="Bo Thorn")
    assert "None is under way" in client.get("/walk").text
    begun = client.post("/walk/check", data={"depot": "NORTH"})
    assert begun.headers["location"] == "/walk?depot=NORTH"
    client.post("/walk/check", data={"depot": "NORTH"})
    assert site.depot.one("SELECT count(*) FROM stock_checks") == 1
    page = client.get("/walk").text
    assert "Begun by Bo Thorn" in page
    assert set(listed(page, "missed")) == {BOX, OTHER, THIRD}

    check = check_of(page)
    told = say(site, client, BOX, "a1", check=check)
    assert "<h1>Recorded</h1>" in told
    assert 'href="/walk?slot=A1"' in told
    say(site, client, OTHER, "B7", check=check)
    say(site, client, STRAY, "B7", check=check)
    page = client.get("/walk?slot=B7").text
    assert listed(page, "missed") == [THIRD]
    assert listed(page, "unannounced") == [STRAY]
    assert listed(page, "misplaced") == [OTHER]
    assert "the record had it at A2" in page
    assert 'id="slot" name="slot" value="B7"' in page

    client.post("/walk/check", data={"depot": "NORTH", "finishes": check})
    assert "None is under way" in client.get("/walk").text
    assert site.depot.one("SELECT count(*) FROM stock_checks WHERE finished_at IS NOT NULL") == 1


def test_move_is_reported_as_one_also_during_a_check(site: Site) -> None:
    site.depot.record(report("gate-in", slot="A1"))
    client = site.person("NORTH:gate")
    client.post("/walk/check", data={"depot": "NORTH"})
    check = check_of(client.get("/walk").text)
    say(site, client, BOX, "C3", kind="restow", check=check)
    view = site.depot.show(BOX)
    assert (view.record["slot"], view.history[-1]["kind"]) == ("C3", "restow")


def test_only_those_of_the_depot_begin_its_check(site: Site) -> None:
    client = site.person("NORTH:workshop")
    assert client.post("/walk/check", data={"depot": "SOUTH"}).status_code == 403
    assert site.depot.one("SELECT count(*) FROM stock_checks") == 0


def test_walk_stands_in_the_bar_of_those_who_walk(site: Site) -> None:
    for role, is_there in (("gate", True), ("workshop", True), ("manager", True), ("sales", False)):
        page = site.person(f"NORTH:{role}", name=role).get("/stock").text
        assert ('href="/walk"' in page) is is_there, role


def test_walk_without_script_that_names_no_unit_is_asked_again(site: Site) -> None:
    site.depot.record(report("gate-in"))
    sent = site.person("NORTH:gate").post(
        "/walk", data={"kind": "sighting", "depot": "NORTH", "mark": "", "slot": "!"}
    )
    assert sent.status_code == 422
    assert 'id="put-right"' in sent.text
