"""Papers over the API: PDF and JSON, and only as far as the unit may be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, id_of, report
from tests.support.papers import read_text, scan
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from tests.support.web import Site

PAPERS = ("pack.pdf", "release.pdf", "acknowledgement.pdf")
CAME = report("gate-in", size_type="22G1", masses={"gross_kg": 30480, "tare_kg": 2230})
SOLD = report("sale")


@pytest.fixture
def sold(site: Site) -> Site:
    site.depot.record(CAME, SOLD)
    return site


@pytest.mark.parametrize("name", PAPERS)
def test_paper_of_a_unit_is_a_pdf_whose_code_leads_to_the_unit(sold: Site, name: str) -> None:
    answer = sold.person("NORTH:sales").get(f"/api/units/{BOX}/{name}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    paper = name.removesuffix(".pdf").replace("pack", "plate-pack")
    assert answer.headers["content-disposition"] == f'inline; filename="{BOX}-{paper}.pdf"'
    assert answer.headers["cache-control"] == "no-store"
    assert scan(answer.content) == [f"http://127.0.0.1:8600/units/{BOX}"]


def test_interchange_receipt_goes_by_the_event(sold: Site) -> None:
    client = sold.person("NORTH:gate")
    answer = client.get(f"/api/events/{id_of(CAME)}/interchange.pdf")
    assert answer.status_code == 200
    assert "Interchange receipt: IN" in read_text(answer.content)
    assert client.get(f"/api/events/{id_of(SOLD)}/interchange.pdf").status_code == 404


def test_pack_for_programs_says_what_is_missing_and_as_of_when(sold: Site) -> None:
    client = sold.machine(Scope.READ)
    said = client.get(f"/api/units/{BOX}/pack.json").json()
    assert (said["complete"], said["unit"]["mark"]) == (False, BOX)
    assert "a photo of the plate" in said["missing"]
    early = {"as_of": "2026-03-02T06:59:59Z"}
    then = client.get(f"/api/units/{BOX}/pack.json", params=early).json()
    assert then["unit"]["masses"]["tare_kg"] is None
    assert then["issue"]["as_of"] == "2026-03-02T06:59:59Z"


def test_depot_that_never_had_the_unit_gets_no_paper_of_it(sold: Site) -> None:
    client = sold.person("SOUTH:manager")
    paths = [f"/api/units/{BOX}/{name}" for name in (*PAPERS, "pack.json")]
    paths.append(f"/api/events/{id_of(CAME)}/interchange.pdf")
    assert {client.get(path).status_code for path in paths} == {404}


def test_depot_that_the_unit_left_gets_its_pack_as_it_was_when_it_left(site: Site) -> None:
    site.depot.record(
        report("gate-in", masses={"gross_kg": 30480, "tare_kg": 2230}),
        report(
            "gate-out",
            happened_at="2026-03-02T07:10:00+00:00",
            purpose="transfer",
            to_depot="SOUTH",
        ),
        report(
            "gate-in",
            depot="SOUTH",
            happened_at="2026-03-02T07:40:00+00:00",
            purpose="transfer",
            masses={"gross_kg": 30480, "tare_kg": 2300},
        ),
    )
    left, has = (site.person(f"{depot}:gate", name=depot) for depot in ("NORTH", "SOUTH"))
    tares = [
        client.get(f"/api/units/{BOX}/pack.json").json()["unit"]["masses"]["tare_kg"]
        for client in (left, has)
    ]
    assert tares == [2230, 2300]


def test_acknowledgement_of_a_unit_that_is_not_sold_for_storage_is_not_found(site: Site) -> None:
    site.depot.record(CAME)
    answer = site.person("NORTH:sales").get(f"/api/units/{BOX}/acknowledgement.pdf")
    assert answer.status_code == 404
    assert "is not sold for storage" in answer.json()["detail"]


def test_delivery_is_told_as_far_as_it_may_be_seen(site: Site) -> None:
    site.depot.record(report("pre-advice", batch="B 7/a"))
    told = site.person("NORTH:gate").get("/api/deliveries/B 7/a")
    assert (told.status_code, told.json()["counts"]["missing"]) == (200, 1)
    other = site.person("SOUTH:gate", name="bo")
    assert other.get("/api/deliveries/B 7/a").status_code == 404
    assert other.get("/api/deliveries/none").status_code == 404


def test_check_puts_what_the_depot_expects_first(site: Site) -> None:
    expected, known = "ZZZU3000014", "ZZZU3000077"
    site.depot.record(report("pre-advice", expected), report("gate-in", known, depot="SOUTH"))
    asked = {"mark": "ZZZU3000017"}
    client = site.person("NORTH:gate", "SOUTH:gate")
    (here, there) = (
        client.get("/api/check", params=asked | {"depot": depot}).json()["suggestions"]
        for depot in ("NORTH", "SOUTH")
    )
    assert here[0] == expected
    assert set(here) == set(there)
