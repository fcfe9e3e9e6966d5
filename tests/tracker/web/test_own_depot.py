"""Forms that ask for a depot choose the one somebody works at; else they wait for a choice."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from shared.ids import new_id
from tests.support.depot import report
from tests.support.draining import draining

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

FORMS = {"/people": "d-depot", "/orders": "o-depot", "/batches/announce": "b-depot"}
ASKED = {
    "kind": "order",
    "depot": "SOUTH",
    "buyer": "Ada Quill",
    "count:int": "1",
    "description.length_ft:int": "20",
    "intended_use": "storage",
}


def offered(client: TestClient, path: str) -> tuple[list[str], str | None]:
    """Return what a form offers as its depot, and what a browser would choose first."""
    page = client.get(path).text
    field = re.search(rf'<select id="{FORMS[path]}" name="depot" required>.*?</select>', page, re.S)
    assert field is not None, page
    values = re.findall(r'<option value="([^"]*)"', field[0])
    chosen = re.findall(r'<option value="([^"]*)" selected', field[0])
    return values, chosen[0] if chosen else values[0]


@pytest.mark.parametrize("path", FORMS)
def test_only_depot_is_chosen(site: Site, path: str) -> None:
    client = site.person("SOUTH:manager", "NORTH:gate")
    assert offered(client, path) == (["SOUTH"], "SOUTH")


@pytest.mark.parametrize("path", FORMS)
def test_nothing_is_chosen_where_nothing_tells_which(site: Site, path: str) -> None:
    client = site.person("*:manager")
    values, chosen = offered(client, path)
    assert chosen == ""
    assert values[:3] == ["", "NORTH", "SOUTH"]
    if path == "/people":
        assert values[3:] == ["*"], "every depot is offered last"


@pytest.mark.parametrize("path", FORMS)
def test_depot_chosen_last_is_chosen_again_wherever_it_was_chosen(site: Site, path: str) -> None:
    site.depot.record(report("gate-in", depot="SOUTH", size_type="22G1"))
    client = site.person("*:manager")
    client.get("/gate?depot=SOUTH")
    assert offered(client, path)[1] == "SOUTH"
    client.get("/orders?depot=NORTH")
    assert offered(client, path)[1] == "NORTH"
    with draining(site):
        client.post("/orders", data=ASKED | {"form": str(new_id())})
    assert offered(client, path)[1] == "SOUTH"
    client.post("/people/on-duty", data={"depot": "NORTH", "address": "bo@example.org"})
    assert offered(client, path)[1] == "NORTH"
    client.post("/people/on-duty", data={"depot": "*", "address": "bo@example.org"})
    assert offered(client, path)[1] == "NORTH", "every depot is no place to work at"


def test_depot_that_is_none_of_theirs_is_neither_chosen_nor_kept(site: Site) -> None:
    client = site.person("NORTH:manager", name="nor")
    client.cookies.set("hardstand_depot", "SOUTH", domain="testserver.local")
    assert offered(client, "/people") == (["NORTH"], "NORTH")
    client.get("/orders", params={"depot": "x;y"})
    assert client.cookies.get("hardstand_depot", domain="testserver.local") == "SOUTH"
