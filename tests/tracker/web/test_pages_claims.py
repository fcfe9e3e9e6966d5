"""A unit's claims by forms: notice given of those that were ticked, and how each ended."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, id_of, report
from tests.support.draining import draining
from tracker.services.daily_round import make_rounds

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

FIRM = "Stonebridge Haulage"
DENT = {"component": "door-panel", "kind": "dented", "on_lorry": True, "responsible": FIRM}
ARRIVAL = report("gate-in", haulier=FIRM, damage_on_lorry="left door dented")
SEEN = report("inspection", damages=[DENT])
AT_GATE, INSPECTED = id_of(ARRIVAL), f"{id_of(SEEN)}/1"


def send(client: TestClient, **fields: str | list[str]) -> tuple[int, str]:
    """Send a form of the page; return the status and the page that came in the end."""
    said = {"form": str(new_id()), **fields}
    answer = client.post(f"/claims?unit={BOX}", data=said)
    if answer.status_code == 303:
        return 303, client.get(answer.headers["location"]).text
    return answer.status_code, answer.text


def claims(site: Site) -> dict[str, str | None]:
    """Return the open claims, each with the day on which notice was given."""
    return {one["id"]: one["notice_given_on"] for one in site.depot.show(BOX).record["claims"]}


def ticked(page: str) -> dict[str, bool]:
    found = re.findall(r'name="claims:list" value="([^"]+)"( checked)?', page)
    return {name: bool(checked) for name, checked in found}


@pytest.fixture
def claimed(site: Site, clock: StandingClock) -> Site:
    """A box that came with a dent, claimed by the gate and by the inspection, an hour ago."""
    site.depot.open_depot("NORTH")
    site.depot.record(ARRIVAL, SEEN)
    clock.move(timedelta(hours=1))
    return site


def test_unit_and_alert_lead_whoever_may_to_the_forms(claimed: Site, clock: StandingClock) -> None:
    clock.move(timedelta(days=4))
    make_rounds(claimed.depot.worker)
    seller = claimed.person("NORTH:sales", name="sel")
    others = claimed.person("NORTH:workshop", "SOUTH:sales", name="oth")
    for path in (f"/units/{BOX}", "/alerts?show=all", f"/sales/deal?unit={BOX}"):
        links = set(re.findall(r'href="(/claims\?unit=[^"]+)"', seller.get(path).text))
        (link,) = links
        page = seller.get(link)
        assert page.status_code == 200
        assert '<span class="pill stop">late</span>' in page.text
        assert f'href="/units/{claimed.depot.unit_id(BOX)}#event-{AT_GATE}"' in page.text
        if "deal" not in path:
            assert "/claims" not in others.get(path).text
    assert "/claims" not in seller.get(f"/units/{BOX}?as_of=2026-03-02T07:30").text
    assert others.get(link).status_code == 403


def test_notice_is_given_of_the_claim_that_is_ticked(claimed: Site) -> None:
    client = claimed.person("NORTH:sales")
    page = client.get(f"/claims?unit={BOX}").text
    assert ticked(page) == {AT_GATE: True, INSPECTED: True}
    assert f'name="to" value="{FIRM}"' in page
    assert 'name="given_on" type="date" value="2026-03-02" max="2026-03-02"' in page
    said = {"to": "Vale Lines", "given_on": "2026-03-01", "reference": "letter 12"}
    said |= {"kind": "claim-notice", "note": "by mail to the dispatcher"}
    with draining(claimed):
        status, page = send(client, **said, **{"claims:list": INSPECTED})
    assert (status, "Recorded." in page) == (303, True)
    assert claims(claimed) == {AT_GATE: None, INSPECTED: "2026-03-01"}
    assert ticked(page) == {AT_GATE: True, INSPECTED: False}
    assert "Vale Lines answers for it; notice was given on 1 Mar 2026" in page
    told = claimed.depot.show(BOX).history[-1]["event"]
    assert (told["reference"], told["note"]) == ("letter 12", "by mail to the dispatcher")
    assert told["reported_by"] == "Ada"


def test_notice_of_nothing_is_not_taken_for_notice_of_everything(claimed: Site) -> None:
    client = claimed.person("NORTH:manager")
    said = {"kind": "claim-notice", "to": "Vale Lines", "given_on": "2026-03-01"}
    status, page = send(client, **said, reference="letter 12")
    assert status == 422
    assert "No claim was ticked." in page
    assert ticked(page) == {AT_GATE: False, INSPECTED: False}
    for value in ("Vale Lines", "2026-03-01", "letter 12"):
        assert f'value="{value}"' in page
    assert claims(claimed) == {AT_GATE: None, INSPECTED: None}
    assert claimed.depot.one("SELECT count(*) FROM intake") == 0


def test_late_notice_is_recorded_and_said_to_be_late(claimed: Site, clock: StandingClock) -> None:
    clock.move(timedelta(days=7))
    said = {"kind": "claim-notice", "given_on": "2026-03-09", "claims:list": [AT_GATE, INSPECTED]}
    with draining(claimed):
        status, page = send(claimed.person("NORTH:sales"), **said)
    assert status == 303
    assert "Notice of left door dented was given on 2026-03-09" in page
    assert "Notice was given once more" in page


@pytest.mark.parametrize(
    ("outcome", "currency"), [("paid", ""), ("paid", "GBP"), ("refused", ""), ("withdrawn", "")]
)
def test_claim_is_closed_as_it_ended(claimed: Site, outcome: str, currency: str) -> None:
    client = claimed.person("NORTH:sales")
    said = {"kind": "claim-closed", "closes": INSPECTED, "outcome": outcome, "reason": "agreed"}
    if outcome == "paid":
        said |= {"amount:money": "1.180,50", "currency": currency}
    with draining(claimed):
        status, page = send(client, **said)
    assert status == 303
    assert claims(claimed) == {AT_GATE: None}
    assert "Recorded." in page
    assert ("no notice of it was recorded" in page) == (outcome != "withdrawn")
    told = claimed.depot.show(BOX).history[-1]["event"]
    paid = ("1180.50", currency or "EUR") if outcome == "paid" else (None, None)
    assert (told.get("amount"), told.get("currency")) == paid


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"outcome": "paid"}, "a claim that was paid says the amount and its currency"),
        ({"outcome": "refused", "amount:money": "9"}, "an amount belongs to a claim that was paid"),
        ({"outcome": ""}, "outcome: is missing"),
    ],
)
def test_outcome_that_cannot_be_comes_back_as_it_was_typed(
    claimed: Site, said: dict[str, str], why: str
) -> None:
    client = claimed.person("NORTH:sales")
    whole = {"kind": "claim-closed", "closes": INSPECTED, "reason": "they doubt it", **said}
    status, page = send(client, **whole)
    assert status == 422
    assert why in page
    (filled,) = re.findall(r"<details open>.*?</details>", page, re.S)
    assert f'name="closes" value="{INSPECTED}"' in filled
    assert ticked(page) == {AT_GATE: True, INSPECTED: True}, "of notice nothing was said"
    assert 'value="they doubt it"' in filled
    if said["outcome"]:
        assert f'value="{said["outcome"]}" selected' in filled


def test_claim_closed_meanwhile_is_refused_and_the_last_leaves_none(claimed: Site) -> None:
    client = claimed.person("NORTH:sales")
    said = {"kind": "claim-closed", "outcome": "withdrawn", "form": str(new_id())}
    with draining(claimed):
        assert send(client, **said, closes=AT_GATE)[0] == 303
        # The same form sent again is the same decision; another asks for what is gone.
        assert send(client, **said, closes=AT_GATE)[0] == 303
        status, page = send(client, **said | {"form": str(new_id())}, closes=AT_GATE)
        assert (status, "No claim" in page) == (409, True)
        _, page = send(client, **said, closes=INSPECTED)
    assert "No claim stands open on it." in page
    kinds = [row["kind"] for row in claimed.depot.show(BOX).history]
    assert kinds.count("claim-closed") == 2


def test_one_claim_alone_needs_no_tick(site: Site) -> None:
    site.depot.record(report("gate-in", tag="T-1", mark=None, damage_on_lorry="roof torn"))
    client = site.person("NORTH:sales")
    page = client.get("/claims?unit=%23NORTH/T-1").text
    (claim,) = re.findall(r'type="hidden" name="claims:list" value="([^"]+)"', page)
    assert "Nobody is named who answers for it" in page
    said = {"kind": "claim-notice", "claims:list": claim, "to": FIRM, "given_on": "2026-03-02"}
    with draining(site):
        answer = client.post("/claims?unit=%23NORTH/T-1", data={"form": str(new_id()), **said})
    assert answer.status_code == 303
    (kept,) = site.depot.show("#NORTH/T-1").record["claims"]
    assert (kept["responsible"], kept["notice_given_on"]) == (FIRM, "2026-03-02")


def test_claims_of_a_unit_at_another_depot_are_not_there(claimed: Site) -> None:
    client = claimed.person("SOUTH:manager")
    assert client.get(f"/claims?unit={BOX}").status_code == 404
    assert send(client, kind="claim-closed", closes=AT_GATE, outcome="withdrawn")[0] == 404
