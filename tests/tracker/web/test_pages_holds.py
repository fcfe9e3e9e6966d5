"""Holds by page: offered by serious damage, put for a reason, lifted by evidence, and by whom."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import TYPE_CHECKING

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, report
from tests.support.draining import draining

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

BELOW = ('class="sheet"', 'class="fold"')
CRACK = {"component": "corner-fitting", "kind": "cracked", "measured_mm": 12}
SERIOUS = "through crack of 12 mm on the fitting"


@pytest.fixture
def cracked(site: Site, clock: StandingClock) -> Site:
    """A box whose corner fitting is cracked, called cargo-worthy all the same, an hour ago."""
    said = CRACK | {"urgency": "when-convenient"}
    site.depot.record(
        report("gate-in"), report("inspection", damages=[said], condition="cargo-worthy")
    )
    clock.move(timedelta(hours=1))
    return site


def forms(page: str, kind: str) -> list[dict[str, str]]:
    """Return what the forms that report a kind send when nobody touches them."""
    found = re.findall(rf'<form[^>]*data-capture="{kind}".*?</form>', page, re.S)
    return [
        {
            unescape(name): unescape(value)
            for name, value in re.findall(r'name="([^"]*)" value="([^"]*)"', form)
            if name != "csrf_token"
        }
        for form in found
    ]


def send(client: TestClient, **fields: str) -> tuple[int, str]:
    answer = client.post(f"/holds?unit={BOX}", data={"form": str(new_id()), **fields})
    if answer.status_code == 303:
        return 303, client.get(answer.headers["location"]).text
    return answer.status_code, answer.text


def holds(site: Site) -> list[str]:
    return [one["hold"] for one in site.depot.show(BOX).record["holds"]]


def test_serious_damage_stands_on_top_of_every_page_of_the_unit(cracked: Site) -> None:
    manager = cracked.person("NORTH:manager")
    for path in (f"/units/{BOX}", f"/workshop/unit?name={BOX}", f"/holds?unit={BOX}"):
        page = manager.get(path).text
        assert f"{SERIOUS}, a serious deficiency by the control table" in page, path
        assert page.index('id="serious"') < min(page.find(one) % len(page) for one in BELOW), path
        offered = [one["hold"] for one in forms(page, "hold") if one.get("hold")]
        assert offered == ["do-not-lift", "do-not-stack"], path
    assert "Serious damage</span>" in manager.get("/workshop").text
    deal = manager.get(f"/sales/deal?unit={BOX}").text
    assert "Corner fitting: cracked, 12 mm" in deal
    assert 'No serious damage is open</b><span class="unseen">: yes, with a warning' in deal


def test_harmless_damage_offers_no_hold_and_is_called_by_its_name(site: Site) -> None:
    site.depot.record(
        report("gate-in"), report("inspection", damages=[{"component": "paint", "kind": "worn"}])
    )
    page = site.person("NORTH:manager").get(f"/units/{BOX}").text
    assert "Damage: Paint: worn" in page
    assert "serious" not in page.lower()
    assert [one for one in forms(page, "hold") if one.get("hold")] == []


def test_offered_hold_is_put_by_one_tap_and_lifted_by_evidence(cracked: Site) -> None:
    client = cracked.person("NORTH:workshop")
    (lift, _) = [one for one in forms(client.get(f"/units/{BOX}").text, "hold") if one.get("hold")]
    with draining(cracked):
        status, page = send(client, **lift)
    assert (status, holds(cracked)) == (303, ["do-not-lift"])
    assert "Do not lift:</strong> Through crack of 12 mm on the fitting is a serious" in page
    deal = cracked.person("NORTH:sales", name="s").get(f"/sales/deal?unit={BOX}").text
    assert 'Nothing holds it</b><span class="unseen">: no' in deal
    (lifting,) = forms(page, "hold-cleared")
    assert lifting["evidence"] == ""
    assert send(client, **lifting)[0] == 422
    assert holds(cracked) == ["do-not-lift"]
    with draining(cracked):
        status, page = send(client, **lifting | {"evidence": "fitting renewed, seen by Bo Thorn"})
    assert (status, holds(cracked)) == (303, [])
    assert "fitting renewed, seen by Bo Thorn" in page


def test_hold_without_a_reason_is_asked_again_and_stays_chosen(site: Site) -> None:
    site.depot.record(report("gate-in"))
    client = site.person("NORTH:gate")
    status, page = send(client, kind="hold", hold="do-not-enter")
    assert (status, "reason: is missing" in page) == (422, True)
    assert 'value="do-not-enter" selected' in page
    with draining(site):
        assert send(client, kind="hold", hold="do-not-enter", reason="it smells")[0] == 303
    assert holds(site) == ["do-not-enter"]


def test_hold_is_lifted_only_by_those_whose_it_is(cracked: Site) -> None:
    cracked.depot.record(report("hold", hold="do-not-lift", reason="cracked"))
    gate = cracked.person("NORTH:gate")
    page = gate.get(f"/units/{BOX}").text
    assert "It is lifted by manager or workshop." in page
    assert forms(page, "hold-cleared") == []
    (hold,) = cracked.depot.show(BOX).record["holds"]
    status, page = send(gate, kind="hold-cleared", clears=hold["id"], evidence="looks fine")
    assert (status, "Not yours to decide" in page) == (403, True)
    assert holds(cracked) == ["do-not-lift"]


def test_past_of_a_unit_offers_no_hold(cracked: Site) -> None:
    page = cracked.person("NORTH:manager").get(f"/units/{BOX}?as_of=2026-03-02").text
    assert forms(page, "hold") == []
    assert "Serious deficiency" in page
