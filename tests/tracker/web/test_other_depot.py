"""Whoever works at another depot asks every route for what is NORTH's, and is shown none of it.

A new route is asked, too: by its path and its parameters, each filled with what NORTH has.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.hostile.test_every_query_is_bound import all_parameters
from tests.support.depot import OTHER, THIRD, id_of, report
from tests.support.marks import make_mark
from tests.support.pictures import make_photo
from tests.tracker.web.test_role_table import FILLED, routes
from tracker.services.actor import Role, Scope

if TYPE_CHECKING:
    from collections.abc import Iterator

    from httpx2 import Response
    from starlette.testclient import TestClient

    from tests.support.web import Site

SLOT, BUYER, ORDERER, BATCH = "N9-8", "Tamsin Roe", "Perpetua Finch", "B-77"
LOT, GONE = make_mark("ZZZU300004"), make_mark("ZZZU300005")
TOLD_OF_NORTH = (SLOT, BUYER, ORDERER, LOT, GONE)
FILES = ("application/pdf", "image/")

SOLD = report("sale", OTHER, buyer=BUYER)
ORDERED = report("order", None, buyer=ORDERER, description={"length_ft": 20}, count=1, paid=True)
DOUBTED = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}

SHOWN_TO_WHO_SEES_ALL = {
    "/alerts", "/api/deliveries/{batch:path}", "/api/events/{event_id}/interchange.pdf",
    "/api/orders", "/api/orders/{order_id}", "/api/photos/{digest}", "/api/stock",
    "/api/stock-checks/{check_id}", "/api/units/{mark:path}",
    "/api/units/{mark:path}/history.csv", "/api/units/{mark:path}/pack.pdf",
    "/corrections/{event_id}", "/gate/departure", "/orders", "/orders/{order_id}",
    "/questions", "/sales/deal", "/stock", "/stock.csv", "/units/{mark:path}",
}  # fmt: skip
"""Some of the routes at which there is something to be seen: else nothing were proved."""


@pytest.fixture
def norths(site: Site) -> dict[str, str]:
    """What NORTH has, by the names under which routes ask for it; SOUTH has THIRD."""
    north = site.person("NORTH:gate", "NORTH:manager", name="nell")
    photo = north.post("/api/photos", content=make_photo()).json()["digest"]
    arrived = report("gate-in", OTHER, slot=SLOT, batch=BATCH, photos=[photo])
    site.depot.record(arrived, report("gate-in", THIRD, depot="SOUTH"))
    site.depot.record(
        report("gate-in", LOT, size_type="22G1", batch=BATCH), report("gate-in", GONE)
    )
    site.depot.record(report("gate-out", GONE, purpose="sale"))
    site.depot.record(report("inspection", LOT, condition="wind-and-watertight"))
    site.depot.record(report("inspection", OTHER, masses=DOUBTED))
    site.depot.record(report("inspection", LOT, masses=DOUBTED))
    site.depot.record(SOLD, ORDERED)
    check = {"depot": "NORTH", "id": FILLED["{check_id}"]}
    assert north.post("/api/stock-checks", json=check).is_success
    return FILLED | {
        "{mark:path}": OTHER,
        "{batch:path}": BATCH,
        "{digest}": photo,
        "{event_id}": id_of(arrived),
        "{order_id}": id_of(ORDERED),
        "{question_id}": str(site.depot.one("SELECT min(id::text) FROM questions")),
        "depot": "NORTH",
        "unit": OTHER,
        "mark": OTHER,
        "batch": BATCH,
        "digits": OTHER[-4:],
        "told": id_of(SOLD),
    }


def asked(client: TestClient, norths: dict[str, str]) -> Iterator[tuple[str, Response]]:
    """Ask every route as its path is, by each of its parameters that NORTH fills, and by all."""
    parameters = [name.split(" ") for name in all_parameters()]
    for method, path in sorted(routes()):
        if path.startswith(("/sign-", "/people")):
            continue
        url = path
        for name in FILLED:
            url = url.replace(name, norths[name])
        plain = path.replace(":path}", "}")
        filled = [
            {name: norths[name]}
            for of, at, where, name in parameters
            if (of, at, where) == (method, plain, "query") and name in norths
        ]
        together = {name: value for one in filled for name, value in one.items()}
        form = {name: value for name, value in norths.items() if name not in FILLED}
        for query in ({}, *filled, together):
            body = None if method == "GET" else form
            answer = client.request(method, url, params=query, data=body)
            yield path, answer


def told_of_north(answer: Response) -> bool:
    if answer.headers.get("content-type", "").startswith(FILES):
        return True
    return any(words in answer.text for words in TOLD_OF_NORTH)


def test_whoever_sees_all_is_shown_what_the_other_depot_is_not(
    site: Site, norths: dict[str, str]
) -> None:
    everywhere = site.person(*(f"*:{role}" for role in Role))
    shown = {path for path, answer in asked(everywhere, norths) if told_of_north(answer)}
    assert shown >= SHOWN_TO_WHO_SEES_ALL


@pytest.mark.parametrize("who", ["person", "machine"])
def test_no_route_shows_another_depot_what_is_not_its_own(
    site: Site, norths: dict[str, str], who: str
) -> None:
    client = (
        site.person(*(f"SOUTH:{role}" for role in Role))
        if who == "person"
        else site.machine(*Scope, depots=("SOUTH",))
    )
    shown = {
        (path, str(answer.url.query))
        for path, answer in asked(client, norths)
        if told_of_north(answer)
    }
    assert shown == set()
