from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, report
from tests.support.draining import draining
from tests.support.papers import read_text, scan
from tests.support.web import Site
from tracker.services import keep_house
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from starlette.testclient import TestClient


def order(depot: str) -> bytes:
    asked = {"buyer": "Ada Quill", "description": {"length_ft": 20}, "count": 1, "paid": True}
    return report("order", None, depot=depot, **asked)


def place(yard: Depot) -> tuple[str, str]:
    """Place an order at NORTH and one at SOUTH; return their ids."""
    yard.record(report("gate-in", BOX, size_type="22G1"))
    yard.record(report("gate-in", OTHER, depot="SOUTH", size_type="22G1"))
    north, south = order("NORTH"), order("SOUTH")
    yard.record(north, south)
    return id_of(north), id_of(south)


def test_orders_are_listed_and_shown_with_names_history_and_what_they_wait_for(
    site: Site, yard: Depot
) -> None:
    north, south = place(yard)
    machine = site.machine(Scope.READ)
    listed = machine.get("/api/orders").json()
    assert {one["order_id"]: one["outstanding"] for one in listed} == {north: 1, south: 1}
    assert [one["order_id"] for one in machine.get("/api/orders?depot=SOUTH").json()] == [south]
    shown = machine.get(f"/api/orders/{north}").json()
    assert (shown["order"]["buyer"], shown["order"]["units"]) == ("Ada Quill", [])
    assert [row["kind"] for row in shown["history"]] == ["order"]
    assert shown["history"][0]["reported_by"] == "Ada Quill"


def test_orders_are_found_by_state_the_buyers_reference_and_depot(site: Site, yard: Depot) -> None:
    north, south = place(yard)
    yard.record(report("gate-in", THIRD, size_type="22G1"))
    asked = {"buyer": "Bo Thorn", "description": {"length_ft": 20}, "count": 1, "paid": True}
    yard.record(named := report("order", None, reference="PO 100%/7", **asked))
    yard.record(report("cancellation", None, cancels=north, reason="they changed their mind"))
    seller = site.person("*:sales")
    machine = site.machine(Scope.READ)
    for query, found in (
        ("", {north, south, id_of(named)}),
        ("state=cancelled", {north}),
        ("state=open", {south, id_of(named)}),
        ("state=open&depot=SOUTH", {south}),
        ("reference=po+100%25", {id_of(named)}),
        ("reference=po+1__", set()),
        ("depot=SOUTH&reference=po", set()),
    ):
        page = seller.get(f"/orders?{query}").text
        assert set(re.findall(r'<a href="/orders/([0-9a-f-]{36})"', page)) == found, query
        listed = machine.get(f"/api/orders?{query}").json()
        assert {one["order_id"] for one in listed} == found, query
    assert "No order is so" in seller.get("/orders?state=filled").text
    assert 'value="cancelled" selected' in seller.get("/orders?state=cancelled").text
    assert seller.get("/orders?state=lost").status_code == 422


def test_release_note_of_a_reference_is_a_pdf_for_those_who_see_the_order(
    site: Site, yard: Depot
) -> None:
    north, _ = place(yard)
    given = report("release", None, order=north, reference=None)
    yard.record(given)
    seller = site.person("NORTH:sales")
    path = f"/api/orders/{north}/collection/{id_of(given)}.pdf"
    page = seller.get(f"/orders/{north}").text
    assert path in page
    # To pass the reference on, which offers what is left; there is no other to give.
    assert (
        page.count('name="count:int" inputmode="numeric" pattern="\\d+" maxlength="3" value="1"')
        == 1
    )
    assert [one["left"] for one in seller.get("/api/orders").json()[0]["collection"]] == [1]
    answer = seller.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    assert answer.headers["cache-control"] == "no-store"
    reference = seller.get(f"/api/orders/{north}").json()["order"]["collection"][0]["reference"]
    assert reference in read_text(answer.content)
    (led_to,) = scan(answer.content)
    page = (
        site.person("NORTH:gate", name="bo").get(led_to.removeprefix("http://127.0.0.1:8600")).text
    )
    assert f'value="{reference}"' in page
    assert site.person("SOUTH:sales", name="cy").get(path).status_code == 404
    assert seller.get(f"/api/orders/{north}/collection/{north}.pdf").status_code == 404


def test_reference_of_another_depot_is_not_passed_on_from_here(site: Site, yard: Depot) -> None:
    north, south = place(yard)
    for of, reference in ((north, "NORTH-1"), (south, "SOUTH-1")):
        depot = reference.partition("-")[0]
        yard.record(report("release", None, order=of, reference=reference, depot=depot))
    seller = site.person("NORTH:sales")
    gate = site.person("NORTH:gate", name="bo")
    for who, reference, state in (
        (seller, "NORTH-1", "waiting"),
        (seller, "SOUTH-1", "rejected"),
        (gate, "NORTH-1", "rejected"),
    ):
        passed = report("passing-on", None, reference=reference, collector="Wren Tolley")
        (receipt,) = who.post("/api/events", content=b"[" + passed + b"]").json()
        assert receipt["state"] == state, receipt


def test_reference_is_passed_on_by_the_form_on_the_page_of_its_order(
    site: Site, yard: Depot
) -> None:
    north, _ = place(yard)
    yard.record(report("release", None, order=north, reference="NORTH-1"))
    seller = site.person("NORTH:sales")
    said = {"kind": "passing-on", "depot": "NORTH", "reference": "NORTH-1", "count:int": "1"}
    with draining(site):
        sent = seller.post(f"/orders/{north}", data=said | {"collector": "Wren Tolley"})
    page = seller.get(sent.headers["location"]).text
    kept = seller.get(f"/api/orders/{north}").json()["order"]["collection"]
    assert f'Collection reference <b class="mark">{kept[1]["reference"]}</b>' in page
    assert "for Wren Tolley" in page
    assert "1 passed on" in page


def test_order_of_another_depot_is_as_if_it_were_not_there(site: Site, yard: Depot) -> None:
    north, south = place(yard)
    seller = site.person("NORTH:sales")
    assert [one["order_id"] for one in seller.get("/api/orders").json()] == [north]
    assert seller.get(f"/api/orders/{north}").status_code == 200
    assert seller.get("/api/orders?depot=SOUTH").json() == []
    for unknown in (south, "00000000-0000-0000-0000-000000000007", "six"):
        answer = seller.get(f"/api/orders/{unknown}")
        assert answer.status_code == 404
        assert f"No order '{unknown}'" in answer.json()["detail"]


def test_order_of_another_depot_is_not_released_or_cancelled_from_here(
    site: Site, yard: Depot
) -> None:
    north, south = place(yard)
    seller = site.person("NORTH:sales")
    for of, state in ((north, "waiting"), (south, "rejected")):
        given = report("release", None, order=of, reference=None)
        (receipt,) = seller.post("/api/events", content=b"[" + given + b"]").json()
        assert receipt["state"] == state, receipt
    yard.drain_all()
    undone = report("cancellation", None, cancels=south, reason="changed their mind")
    (receipt,) = seller.post("/api/events", content=b"[" + undone + b"]").json()
    assert receipt["state"] == "rejected"


TITLE = {
    "owner": "Hardstand Trading",
    "title_evidence": "bill of sale 7",
    "title_passed_on": "2026-03-01",
}


def send(client: TestClient, order_id: str, **fields: str) -> tuple[int, str]:
    """Send a form of an order's page; return the status and the page that came in the end."""
    answer = client.post(f"/orders/{order_id}", data={"form": str(new_id()), **fields})
    if answer.status_code == 303:
        return 303, client.get(answer.headers["location"]).text
    return answer.status_code, answer.text


@pytest.fixture
def unpaid(site: Site, yard: Depot) -> str:
    """An order of two at NORTH, neither paid nor on credit; returns its id."""
    yard.record(*(report("gate-in", mark, size_type="22G1") for mark in (BOX, OTHER)))
    asked = {"buyer": "Ada Quill", "description": {"length_ft": 20}, "count": 2}
    placed = report("order", None, **asked)
    yard.record(placed)
    return id_of(placed)


def test_order_is_placed_with_its_journey_and_how_the_buyer_gets_the_units(
    site: Site, yard: Depot
) -> None:
    yard.record(
        report("gate-in", BOX, size_type="22G1", plate={"next_examination": "2028-03"}),
        report("acquisition", BOX, customs="free-circulation", **TITLE),
    )
    said = {
        "form": str(new_id()), "kind": "order", "depot": "NORTH", "buyer": "Bo", "count:int": "1",
        "description.length_ft:int": "20", "intended_use": "transport", "on_credit:bool": "yes",
        "journey_ends_on": "2026-05-30", "handover": "delivery",
    }  # fmt: skip
    seller = site.person("NORTH:sales")
    with draining(site):
        sent = seller.post("/orders", data=said)
    page = seller.get(sent.headers["location"]).text
    assert "the journey ends on 30 May 2026" in page
    assert "<dd>delivery</dd>" in page
    (kept,) = seller.get("/api/orders").json()
    assert (kept["journey_ends_on"], kept["handover"]) == ("2026-05-30", "delivery")
    yard.record(report("release", BOX, order=kept["order_id"], reference="GREY-7"))
    assert yard.show(BOX).record["sale"]["handover"] == "delivery"
    paper = read_text(seller.get(f"/api/units/{BOX}/release.pdf").content)
    assert "Collection or delivery delivery" in paper


def test_unpaid_order_is_paid_on_its_page_and_then_gives_its_reference(
    site: Site, unpaid: str
) -> None:
    seller = site.person("NORTH:sales")
    with draining(site):
        status, page = send(seller, unpaid, kind="release", **{"count:int": "2"})
        assert (status, "neither paid nor sold on credit" in page) == (409, True)
        assert "override_reason" not in page
        paid = {"paid_on": "2026-03-01", "reference": "TRANSFER 9"}
        status, page = send(seller, unpaid, kind="payment", pays=unpaid, **paid)
        assert (status, "Recorded." in page, "TRANSFER 9" in page) == (303, True, True)
        assert "It is not paid after all" in page
        status, page = send(seller, unpaid, kind="release", **{"count:int": "2"})
        assert status == 303
        assert "0 of 2 used" in page
        assert "Give a collection reference" not in page


def test_manager_lets_an_unpaid_order_pass_with_a_reason(site: Site, unpaid: str) -> None:
    manager = site.person("NORTH:manager")
    why = {"count:int": "1", "override_reason": "the money is on its way"}
    with draining(site):
        status, page = send(manager, unpaid, kind="release", **why)
    assert status == 303
    assert "A manager let pass: It is neither paid nor sold on credit." in page
    assert "without a reference: 1" in page


def test_payment_that_does_not_stand_is_undone_and_an_order_cancelled_on_its_page(
    site: Site, yard: Depot, unpaid: str
) -> None:
    payment = report("payment", None, pays=unpaid)
    yard.record(payment)
    seller = site.person("NORTH:sales")
    with draining(site):
        undone = {"cancels": id_of(payment), "reason": "it bounced"}
        status, page = send(seller, unpaid, kind="cancellation", **undone)
        assert (status, "not paid" in page) == (303, True)
        gone = {"cancels": unpaid, "reason": "bought elsewhere"}
        status, page = send(seller, unpaid, kind="cancellation", **gone)
    assert status == 303
    assert '<span class="pill">cancelled</span>' in page
    assert "Cancel the order" not in page
    assert page.count("bought elsewhere") == 1


def test_page_of_an_order_is_its_depots(site: Site, unpaid: str) -> None:
    other = site.person("SOUTH:sales")
    assert other.get(f"/orders/{unpaid}").status_code == 404
    assert send(other, unpaid, kind="payment", pays=unpaid)[0] == 404
    assert other.get("/orders/six").status_code == 404


def test_comparison_says_in_the_depots_time_why_a_unit_is_not_to_be_promised(
    site: Site, yard: Depot
) -> None:
    keep_house.set_depot(yard.web, "NORTH", "North", "Asia/Kathmandu")
    yard.record(report("gate-in", BOX), report("gate-in", OTHER))
    yard.record(report("reservation", BOX, until="2026-03-09T12:00:00+00:00"))
    page = site.person("NORTH:sales").get(f"/sales/compare?unit={BOX}&unit={OTHER}").text
    assert "9 Mar 2026, 17:45" in page
    assert "UTC" not in page
