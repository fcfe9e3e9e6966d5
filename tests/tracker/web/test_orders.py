from tests.support.depot import BOX, OTHER, Depot, id_of, report
from tests.support.draining import draining
from tests.support.papers import read_text, scan
from tests.support.web import Site
from tracker.services.actor import Scope


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


def test_release_note_of_a_reference_is_a_pdf_for_those_who_see_the_order(
    site: Site, yard: Depot
) -> None:
    north, _ = place(yard)
    given = report("release", None, order=north, reference=None)
    yard.record(given)
    seller = site.person("NORTH:sales")
    path = f"/api/orders/{north}/collection/{id_of(given)}.pdf"
    page = seller.get("/orders").text
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


def test_reference_is_passed_on_by_the_form_on_the_orders_page(site: Site, yard: Depot) -> None:
    north, _ = place(yard)
    yard.record(report("release", None, order=north, reference="NORTH-1"))
    seller = site.person("NORTH:sales")
    said = {"kind": "passing-on", "depot": "NORTH", "reference": "NORTH-1", "count:int": "1"}
    with draining(site):
        sent = seller.post("/orders", data=said | {"collector": "Wren Tolley"})
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
