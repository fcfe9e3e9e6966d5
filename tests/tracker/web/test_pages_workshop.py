"""The workshop's page of a unit without script: what is mended, and whose marks come off."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import TYPE_CHECKING

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, OTHER, report
from tests.support.draining import draining
from tests.support.forms import form_of
from tests.support.pictures import make_photo

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

HOLE = {"component": "floor", "kind": "holed", "urgency": "before-release"}
FLAKE = {"component": "paint", "kind": "paint-failed"}
BOUGHT = {
    "owner": "Northquay Boxes",
    "previous_owner": "Farline Leasing",
    "title_evidence": "sale note 2026-120",
    "title_passed_on": "2026-03-01",
}


def work_page(client: TestClient, mark: str = BOX) -> str:
    return client.get(f"/workshop/unit?name={mark}").text


def damages(site: Site) -> list[str]:
    return [one["component"] for one in site.depot.show(BOX).record["damages"]]


@pytest.fixture
def damaged(site: Site) -> Site:
    """A box with a hole in the floor and paint that flakes."""
    site.depot.record(report("gate-in"), report("inspection", damages=[HOLE, FLAKE]))
    return site


def test_mended_without_a_tick_is_asked_again_and_the_photo_is_kept(damaged: Site) -> None:
    client = damaged.person("NORTH:workshop")
    said = form_of(work_page(client), "mend")
    assert "damages:list" not in said
    photo = {"@photos": ("p.jpg", make_photo(), "image/jpeg")}
    asked = client.post("/workshop/unit", data=said, files=photo)
    assert asked.status_code == 422
    assert "Nothing was reported: no damage was ticked." in asked.text
    assert "capture.js" not in asked.text, "loading it again would send it again"
    assert damaged.depot.one("SELECT count(*) FROM intake") == 0
    assert damages(damaged) == ["floor", "paint"]

    again = form_of(asked.text, "mend")
    (digest,) = again["photos:list"]
    (hole, _) = damaged.depot.show(BOX).record["damages"]
    with draining(damaged):
        done = client.post("/workshop/unit", data=again | {"damages:list": [hole["id"]]})
    assert "<h1>Recorded</h1>" in done.text
    assert damages(damaged) == ["paint"]
    (mended,) = [row for row in damaged.depot.show(BOX).history if row["kind"] == "repair"]
    assert mended["event"]["photos"] == [digest]


def test_only_damage_that_is_open_is_ticked_already(site: Site) -> None:
    site.depot.record(report("gate-in"), report("inspection", damages=[HOLE]))
    client = site.person("NORTH:workshop")
    said = form_of(work_page(client), "mend")
    (hole,) = site.depot.show(BOX).record["damages"]
    assert said["damages:list"] == [hole["id"]]
    unticked = client.post("/workshop/unit", data=said | {"damages:list": []})
    assert unticked.status_code == 422
    assert "damages:list" not in form_of(unticked.text, "mend")
    with draining(site):
        client.post("/workshop/unit", data=said)
    assert damages(site) == []


def test_line_of_an_order_is_done_without_a_tick_and_mends_nothing_else(damaged: Site) -> None:
    damaged.depot.record(report("work-order", lines=[{"work": "gasket-mend"}]))
    client = damaged.person("NORTH:workshop")
    (order,) = damaged.depot.show(BOX).record["orders"]
    said = {"kind": "repair", "depot": "NORTH", "mark": BOX, "form": str(new_id())}
    with draining(damaged):
        done = client.post(
            "/workshop/unit", data=said | {"order": order["id"], "work:list": "gasket-mend"}
        )
    assert "<h1>Recorded</h1>" in done.text
    assert (damages(damaged), damaged.depot.show(BOX).record["orders"]) == (["floor", "paint"], [])


@pytest.mark.parametrize("named", [{"mark": "\0"}, {"mark": OTHER}, {"tag": "T-1"}, {}])
def test_unticked_repair_of_an_unknown_unit_is_told_so(
    damaged: Site, named: dict[str, str]
) -> None:
    said = {"kind": "repair", "depot": "NORTH", "form": str(new_id()), **named}
    asked = damaged.person("NORTH:workshop").post(
        "/workshop/unit", data=said, headers={"Accept": "text/html"}
    )
    assert asked.status_code == 404
    assert "No unit is known by" in asked.text


DOORS = {"gross_kg": 10160, "tare_kg": 1270, "payload_kg": 8890}


def test_masses_are_not_shown_for_painting_while_a_question_about_them_is_open(site: Site) -> None:
    site.depot.record(report("gate-in", masses=DOORS))
    client = site.person("NORTH:workshop")
    other = form_of(work_page(client), "other") | {"weighed_tare_kg:int": "22 500"}
    with draining(site):
        done = client.post("/workshop/unit", data=other | {"fittings.0.count:int": ""})
    assert "leaves nothing to load" in done.text
    page = work_page(client)
    assert (site.depot.show(BOX).record["tare_kg"], "22 500 kg leaves nothing" in page) == (
        1270,
        True,
    )
    assert "Paint this on the doors" not in page
    assert 'name="masses.tare_kg:int"' not in page


def test_painted_masses_wait_for_the_scales_and_for_a_second_look(site: Site) -> None:
    vents = [{"work": "louvre-vent", "mass_kg": 3, "cut_out_kg": 2}]
    site.depot.record(report("gate-in", masses=DOORS), report("modification", fittings=vents))
    client = site.person("NORTH:workshop")
    assert "Paint this on the doors" not in work_page(client)
    weighed = form_of(work_page(client), "weigh")
    with draining(site):
        client.post("/workshop/unit", data=weighed | {"weighed_tare_kg:int": "5200"})
    page = work_page(client)
    assert "Paint this on the doors" in page
    assert "It was weighed as 5 200 kg, but by sums its tare is 1 271 kg" in page
    for minute, says in ((1, "by sums its tare is 5 200 kg"), (2, "")):
        happened_at = f"2026-03-02T08:0{minute}:00+00:00"
        site.depot.record(report("modification", weighed_tare_kg=1275, happened_at=happened_at))
        page = work_page(client)
        assert ("It was weighed as" in page, says in page) == (bool(says), True)


def test_former_owners_marks_are_reported_off_with_a_photo(
    site: Site, clock: StandingClock
) -> None:
    site.depot.record(
        report("gate-in"), report("inspection", damages=[HOLE]), report("acquisition", **BOUGHT)
    )
    client = site.person("NORTH:workshop")
    assert "Marks to take off" not in client.get("/workshop").text
    site.depot.record(report("sale"))
    assert "Marks to take off: <b>Farline Leasing</b>" in client.get("/workshop").text
    clock.move(timedelta(hours=1))
    said = form_of(work_page(client), "marks")
    photo = {"@photos": ("p.jpg", make_photo(), "image/jpeg")}
    with draining(site):
        done = client.post("/workshop/unit", data=said, files=photo)
    assert "<h1>Recorded</h1>" in done.text
    view = site.depot.show(BOX)
    assert view.record["previous_owner"] is None
    told = view.history[-1]
    assert (told["kind"], told["event"]["action"]) == ("marking", "removed")
    assert len(told["event"]["photos"]) == 1
    assert 'id="marks"' not in work_page(client)


def test_unmet_condition_leads_whoever_may_to_the_form_that_ends_it(site: Site) -> None:
    site.depot.record(report("gate-in", placards="METHYL BROMIDE"), report("acquisition", **BOUGHT))
    manager = site.person("NORTH:manager", name="man")
    seller = site.person("NORTH:sales", "SOUTH:workshop", name="sel")
    deal, unit = f"/sales/deal?unit={BOX}", f"/units/{BOX}"
    for path, forms in ((deal, ["labels", "marks"]), (unit, ["marks"])):
        links = re.findall(r'href="(/workshop/unit[^"]+)#(\w+)"', manager.get(path).text)
        assert sorted(form for _, form in links) == forms
        for link, form in links:
            assert form_of(manager.get(unescape(link)).text, form)["depot"] == ["NORTH"]
        assert "/workshop/unit" not in seller.get(path).text
    past = manager.get(f"{unit}?as_of=2026-03-02T07:30").text
    assert "/workshop/unit" not in past
