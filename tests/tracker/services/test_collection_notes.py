"""The note of a reference on an order says what the gate would say."""

from datetime import datetime, timedelta

import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, id_of, report
from tracker.papers.collection_note import CollectionPaper
from tracker.services.collection_notes import (
    ReferenceUnknownError,
    collection_note_by,
    collection_note_of,
)
from tracker.services.orders_view import OrderUnknownError
from tracker.services.sight import Sight

ALL = Sight(None)
WANTED = {"length_ft": 20, "types": ["G"], "conditions": [], "colour": "blue"}
ORDERED = report(
    "order", None, buyer="Ada Quill", description=WANTED, count=2, paid=True, reference="AQ 2"
)
GIVEN = report(
    "release",
    None,
    order=id_of(ORDERED),
    count=2,
    reference=None,
    haulier="Hob and Cart",
    expires_at="2026-03-09T12:00:00+00:00",
)


@pytest.fixture
def released(depot: Depot) -> Depot:
    """Two blue boxes are ordered, and may be collected on one reference."""
    depot.open_depot("NORTH", "Europe/Lisbon")
    for mark in (BOX, OTHER):
        depot.record(report("gate-in", mark, size_type="22G1", colour="blue"))
    depot.record(ORDERED, GIVEN)
    return depot


def note(depot: Depot) -> CollectionPaper:
    return collection_note_of(depot.web, ALL, id_of(ORDERED), id_of(GIVEN))


def collect(depot: Depot, mark: str) -> bytes:
    asked = report("clearance", mark, reference=note(depot).reference, haulier="Hob and Cart")
    (receipt,) = depot.record(asked)
    assert receipt.state == "recorded"
    return asked


def test_note_tells_of_the_order_and_leads_to_the_gate(released: Depot) -> None:
    paper = note(released)
    assert (paper.left, paper.units, paper.used, paper.gone) == (2, 2, 0, ())
    assert (paper.buyer, paper.order, paper.haulier) == ("Ada Quill", "AQ 2", "Hob and Cart")
    assert paper.wanted == "20 ft, type G, blue"
    assert paper.expires_at == datetime.fromisoformat("2026-03-09T12:00:00+00:00")
    assert (paper.issue.depot, paper.issue.zone) == ("North", "Europe/Lisbon")
    gate = f"http://127.0.0.1:8600/gate/departure?reference={paper.reference}"
    assert paper.issue.address == gate
    assert paper.issue.history_seq == 2


def test_what_was_collected_stands_on_it_until_it_is_returned(released: Depot) -> None:
    first = collect(released, BOX)
    assert [one.name for one in note(released).gone] == [BOX]
    assert note(released).left == 1
    released.record(report("cancellation", BOX, cancels=id_of(first), reason="the wrong lorry"))
    assert (note(released).gone, note(released).left) == ((), 2)


def test_unit_that_was_returned_stands_on_the_reference_it_went_on_at_last(
    released: Depot, clock: StandingClock
) -> None:
    released.record(report("cancellation", None, cancels=id_of(GIVEN), reason="another lorry"))
    other = report("release", None, order=id_of(ORDERED), count=1, reference="COLLECT-72")
    one = report("release", None, order=id_of(ORDERED), count=1, reference="COLLECT-73")
    released.record(other, one)

    def went(reference: str) -> list[tuple[str, datetime]]:
        paper = collection_note_by(released.web, ALL, reference)
        return [(gone.name, gone.at) for gone in paper.gone]

    first = report("clearance", BOX, reference="COLLECT-72")
    for told in (first, report("cancellation", BOX, cancels=id_of(first), reason="broke down")):
        released.record(told)
    clock.move(timedelta(hours=3))
    released.record(report("clearance", BOX, reference="COLLECT-73"))
    assert went("COLLECT-72") == []
    assert went("COLLECT-73") == [(BOX, clock.now())]
    second = report("clearance", OTHER, reference="COLLECT-72")
    released.record(second, report("cancellation", OTHER, cancels=id_of(second), reason="again"))
    clock.move(timedelta(hours=1))
    released.record(report("clearance", OTHER, reference="COLLECT-72"))
    assert went("COLLECT-72") == [(OTHER, clock.now())]


def test_note_that_opens_nothing_says_why_and_leads_to_the_order(
    released: Depot, clock: StandingClock
) -> None:
    clock.set(datetime.fromisoformat("2026-03-09T12:00:00+00:00") - timedelta(seconds=1))
    assert note(released).left == 2
    clock.move(timedelta(seconds=1))
    paper = note(released)
    assert (paper.left, paper.against) == (0, ("The release expired at 2026-03-09 12:00 UTC.",))
    order = released.one("SELECT order_id FROM orders")
    assert paper.issue.address == f"http://127.0.0.1:8600/orders/{order}"


def test_note_of_a_cancelled_order_releases_nothing(released: Depot) -> None:
    released.record(report("cancellation", None, cancels=id_of(ORDERED), reason="no money"))
    assert "The order is cancelled" in note(released).against[0]


def test_note_is_found_by_its_reference_however_it_is_written(released: Depot) -> None:
    reference = note(released).reference
    found = collection_note_by(released.web, ALL, reference.lower().replace("-", " "))
    assert found == note(released)


def test_reference_that_no_order_gave_and_other_depots_order_have_no_note(released: Depot) -> None:
    other = id_of(ORDERED)
    with pytest.raises(ReferenceUnknownError, match="AAAA-BBBB"):
        collection_note_by(released.web, ALL, "AAAA-BBBB")
    with pytest.raises(ReferenceUnknownError):
        collection_note_of(released.web, ALL, other, other)
    with pytest.raises(OrderUnknownError):
        collection_note_by(released.web, Sight(frozenset({"SOUTH"})), note(released).reference)
