"""Work is ordered by page by whoever may order it: workshop, sales desk and manager."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, report
from tests.support.draining import draining

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

PATH = f"/work-orders?unit={BOX}"


@pytest.fixture
def yard(site: Site) -> Site:
    """A site with one box in NORTH."""
    site.depot.record(report("gate-in", size_type="22G1"))
    return site


def order(site: Site, client: TestClient, path: str = PATH, **said: str) -> Any:  # noqa: ANN401 - httpx's answer
    with draining(site):
        return client.post(path, data={"form": str(new_id()), "!lines": "count", **said})


def line(work: str, count: str) -> dict[str, str]:
    return {"lines.0.work": work, "lines.0.count:int": count}


@pytest.mark.parametrize("role", ["workshop", "sales", "manager"])
def test_whoever_may_order_work_is_led_to_the_form_and_orders_by_it(yard: Site, role: str) -> None:
    client = yard.person(f"NORTH:{role}", name=role, shown_as="Bo Thorn")
    link = re.search(r'href="(/work-orders\?unit=[^"]+)"', client.get(f"/units/{BOX}").text)
    assert link is not None
    form = client.get(link[1]).text
    assert "Before steel is cut." in form
    said = line("lock-box", "2") | {"due_on": "2026-03-09", "note": "left door, high"}
    sent = order(yard, client, link[1], **said)
    assert sent.status_code == 303
    told = client.get(sent.headers["location"]).text
    assert "lock box, by 9 Mar 2026" in told
    (ordered,) = yard.depot.show(BOX).record["orders"]
    assert ordered["lines"] == {"lock-box": 2}
    assert yard.depot.show(BOX).history[-1]["reported_by"] == "Bo Thorn"


def test_workshop_is_led_there_from_its_own_page(yard: Site) -> None:
    client = yard.person("NORTH:workshop")
    assert f'href="{PATH}"' in client.get(f"/workshop/unit?name={BOX}").text


def test_gate_is_neither_led_there_nor_let_in(yard: Site) -> None:
    client = yard.person("NORTH:gate")
    assert "/work-orders" not in client.get(f"/units/{BOX}").text
    assert client.get(PATH).status_code == 403
    assert order(yard, client, **line("lock-box", "1")).status_code == 403
    assert yard.depot.show(BOX).record["orders"] == []


def test_workshop_of_another_depot_orders_nothing(yard: Site) -> None:
    """A role elsewhere is none here, even where one sees the unit by another role."""
    client = yard.person("SOUTH:workshop", "NORTH:gate")
    assert "/work-orders" not in client.get(f"/units/{BOX}").text
    assert client.get(PATH).status_code == 403
    assert order(yard, client, **line("lock-box", "1")).status_code == 403


def test_what_is_not_filled_in_is_asked_again_and_stays(yard: Site) -> None:
    client = yard.person("NORTH:workshop")
    said = line("lock-box", "two") | {"note": "left door"}
    answer = order(yard, client, **said)
    assert answer.status_code == 422
    assert 'value="left door"' in answer.text
    assert yard.depot.show(BOX).record["orders"] == []


def test_what_was_sold_with_it_is_filled_in(yard: Site) -> None:
    sold = [{"what": "lock-box", "count": 1, "price_each": "80.00"}]
    yard.depot.record(report("sale", lines=sold, price="1450.00"))
    client = yard.person("NORTH:workshop")
    form = client.get(PATH).text
    assert re.search(r'id="w-lock-box"[^>]*value="1"', form)
    assert "1450" not in form, "what it is sold for is the desk's"


def test_unit_that_left_has_no_such_form(yard: Site) -> None:
    yard.depot.record(report("gate-out", purpose="scrap"))
    client = yard.person("NORTH:workshop")
    assert "/work-orders" not in client.get(f"/units/{BOX}").text
    assert client.get(PATH).status_code == 403
