"""An inspection by form without script: nothing typed is dropped, nothing empty is recorded."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, report
from tests.support.draining import draining
from tests.support.pictures import make_photo

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

FLOOR = {"damages.0.component": "floor", "damages.0.kind": "holed"}


def form(**said: str) -> dict[str, str]:
    return {"kind": "inspection", "depot": "NORTH", "mark": BOX, "form": str(new_id()), **said}


def send(client: TestClient, said: dict[str, str], **files: object) -> tuple[int, str]:
    answer = client.post("/workshop/inspection", data=form(**said), files=files or None)  # type: ignore[arg-type] - what httpx takes
    return answer.status_code, answer.text


@pytest.fixture
def client(site: Site) -> TestClient:
    site.depot.record(report("gate-in"))
    return site.person("NORTH:workshop")


def inspections(site: Site) -> list[dict[str, object]]:
    return [one["event"] for one in site.depot.show(BOX).history if one["kind"] == "inspection"]


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ({}, "Nothing was filled in"),
        ({"damages.0.urgency": "before-release"}, "damages.0.component: is missing"),
        (
            {"damages.0.kind": "cracked", "damages.0.measured_mm:int": "12"},
            "damages.0.component: is missing",
        ),
        ({"damages.0.component": "floor"}, "damages.0.kind: is missing"),
        (FLOOR | {"damages.0.measured_mm:int": "3,5"}, "should be a whole number"),
        ({"plate.no_plate:bool": "yes"}, "Say who looked"),
    ],
)
def test_what_cannot_be_recorded_comes_back_filled(
    site: Site, client: TestClient, said: dict[str, str], fault: str
) -> None:
    photo = {"@photos": ("p.jpg", make_photo(), "image/jpeg")} if said else {}
    status, page = send(client, said | ({"note": "rust & dirt"} if said else {}), **photo)
    assert (status, fault in page) == (422, True)
    assert site.depot.one("SELECT count(*) FROM intake") == 0
    assert inspections(site) == []
    for name, value in said.items():
        field = re.search(
            rf'<(input|select)[^>]*name="{re.escape(name)}".*?(?=<label|</div>)', page, re.S
        )
        assert field is not None
        filled = f'value="{value}" selected' if field[1] == "select" else f'value="{value}"'
        assert filled in field[0], name
        assert field[1] == "select" or ":int" in name or " checked" in field[0]
    if said:
        assert "rust &amp; dirt</textarea>" in page
        assert re.search(r'name="photos:list" value="[0-9a-f]{64}"', page)


def test_damage_keeps_its_own_photo_its_count_and_who_answers_for_it(
    site: Site, client: TestClient
) -> None:
    said = FLOOR | {
        "damages.2.component": "cross-member",
        "damages.2.kind": "missing",
        "damages.2.measure": "cross members lost",
        "damages.2.count:int": "2",
        "damages.2.out_of:int": "18",
        "damages.2.on_lorry:bool": "yes",
        "damages.2.responsible": "Stonebridge Haulage",
    }
    photo = {"@damages.2.photos": ("p.jpg", make_photo(), "image/jpeg")}
    with draining(site):
        send(client, said, **photo)
    floor, member = site.depot.show(BOX).record["damages"]
    assert (floor["photos"], len(member["photos"])) == ([], 1)
    assert (member["count"], member["out_of"], member["measure"]) == (2, 18, "cross members lost")
    (claim,) = site.depot.show(BOX).record["claims"]
    assert claim["responsible"] == "Stonebridge Haulage"


def test_serious_damage_leads_at_once_to_the_holds_it_speaks_for(
    site: Site, client: TestClient
) -> None:
    crack = {"component": "corner-fitting", "kind": "cracked", "measured_mm:int": "12"}
    said = {f"damages.0.{name}": value for name, value in crack.items()}
    with draining(site):
        answer = client.post("/workshop/inspection", data=form(**said, condition="cargo-worthy"))
    assert answer.status_code == 303
    page = client.get(answer.headers["location"]).text
    assert (
        page.index("Take care with it now") < page.index('id="serious"') < page.index('id="record"')
    )
    assert "Hold it: do not lift" in page
    assert site.depot.show(BOX).record["damages"][0]["urgency"] == "before-release"


@pytest.mark.parametrize("path", ["/workshop/inspection", "/workshop/unit"])
@pytest.mark.parametrize(
    ("told", "words"),
    [
        ([report("gate-in", depot="SOUTH", slot="B2-1")], "stands at SOUTH, B2-1"),
        ([report("gate-in"), report("gate-out", happened_at="2026-03-02T07:30:00Z")], "is away"),
        ([report("pre-advice")], "is expected at NORTH and has not come in"),
    ],
)
def test_unit_that_stands_elsewhere_is_asked_about_first(
    site: Site, path: str, told: list[bytes], words: str
) -> None:
    site.depot.record(*told)
    client = site.person("NORTH:workshop", "SOUTH:sales")
    asked = client.get(f"{path}?name={BOX}").text
    assert words in asked
    assert "data-capture" not in asked
    page = client.get(f"{path}?name={BOX}&depot=NORTH&here=yes").text
    assert "By the record it does not stand at NORTH." in page
    assert "data-capture" in page


def test_who_works_at_both_depots_works_where_the_unit_stands(site: Site) -> None:
    site.depot.record(report("gate-in", depot="SOUTH", slot="B2-1"))
    client = site.person("NORTH:workshop", "SOUTH:workshop")
    page = client.get(f"/workshop/inspection?name={BOX}").text
    assert '<input type="hidden" name="depot" value="SOUTH">' in page
    assert "By the record" not in page


def test_unit_leads_each_to_what_they_may_do(site: Site) -> None:
    site.depot.record(report("gate-in"))
    ways = {
        "gate": {"/workshop/inspection", "/gate/departure"},
        "workshop": {"/workshop/inspection", "/workshop/unit"},
        "sales": set(),
        "manager": {"/workshop/inspection", "/workshop/unit", "/gate/departure"},
    }
    for role, paths in ways.items():
        client = site.person(f"NORTH:{role}", name=role)
        page = client.get(f"/units/{BOX}").text
        links = re.findall(r'href="(/(?:workshop|gate)/[^"?]+)[^"#]*"', page)
        assert set(links) == paths, role
        for link in re.findall(r'href="(/(?:workshop|gate)/[^"#]+)"', page):
            assert client.get(link.replace("&amp;", "&")).status_code == 200
    page = site.person("NORTH:gate", name="g").get(f"/workshop/inspection?name={BOX}").text
    assert "All work" not in page
