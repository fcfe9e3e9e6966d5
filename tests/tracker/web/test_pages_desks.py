"""The desks' pages open for whoever has a role, on an empty depot and on one with a life in it."""

from __future__ import annotations

import re

import pytest

from tests.support.depot import BOX, report
from tests.support.web import Site

EVERYBODYS = ("/", "/stock", "/stock/glance", "/questions", "/alerts", "/live")
DESKS = ("/sales", "/sales/compare", "/orders", "/people")


@pytest.mark.parametrize("path", [*EVERYBODYS, *DESKS])
def test_page_of_empty_depot_opens_and_says_what_to_do(site: Site, path: str) -> None:
    answer = site.person("*:manager").get(path, headers={"Accept": "text/html"})
    assert answer.status_code == 200
    if path not in ("/live", "/people"):
        assert 'class="empty"' in answer.text
    assert "<script>" not in answer.text
    assert "style=" not in answer.text


@pytest.mark.parametrize("path", [*EVERYBODYS, *DESKS, f"/units/{BOX}", f"/sales/deal?unit={BOX}"])
def test_page_of_depot_with_life_opens(site: Site, path: str) -> None:
    site.depot.record(
        report(
            "gate-in",
            size_type="22G1",
            masses={"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000},
        ),
        report("inspection", condition="cargo-worthy"),
        report("sale"),
        report("gate-in", "ZZZU3000013"[:10] + "9"),
    )
    answer = site.person("*:manager").get(path, headers={"Accept": "text/html"})
    assert answer.status_code == 200
    assert "<script>" not in answer.text
    assert "style=" not in answer.text


def test_record_has_one_way_to_the_departure_for_whoever_works_at_its_gate(site: Site) -> None:
    site.depot.record(report("gate-in", BOX), report("gate-in", None, tag="T-12"))
    site.depot.record(report("inspection", condition="cargo-worthy"))
    gate = site.person("NORTH:gate", name="mira")
    leads = re.compile(r'href="(/gate/departure[^"]*)">([^<]+)</a>')
    only = [(f"/gate/departure?mark={BOX}&amp;depot=NORTH", "May it leave?")]
    assert leads.findall(gate.get(f"/units/{BOX}").text) == only
    site.depot.record(report("sale"))
    site.depot.record(report("release"))
    assert site.depot.show(BOX).record["release"] is not None
    assert leads.findall(gate.get(f"/units/{BOX}").text) == only
    ((path, _),) = leads.findall(gate.get("/units/%23NORTH/T-12").text)
    assert 'name="mark" value="#T-12"' in gate.get(path.replace("&amp;", "&")).text
    for role in ("NORTH:manager", "SOUTH:gate", "NORTH:workshop"):
        other = site.person(role, "NORTH:sales", name=role.lower().replace(":", "."))
        is_led = bool(leads.findall(other.get(f"/units/{BOX}").text))
        assert is_led is (role == "NORTH:manager"), role
    site.depot.record(report("gate-out", happened_at="2026-03-02T08:00:00+00:00"))
    assert leads.findall(gate.get(f"/units/{BOX}").text) == []
