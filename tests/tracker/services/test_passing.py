"""A reference that was passed on: the new one collects, a copy of the old paper never does."""

from collections import Counter

import pytest

from tests.support.depot import BOX, OTHER, THIRD, Depot, findings_of, id_of, report
from tracker.services.collection_notes import collection_note_by
from tracker.services.may_leave import may_leave
from tracker.services.rebuild import rebuild
from tracker.services.sight import Sight
from tracker.services.verify import verify

ORDERED = report(
    "order", None, buyer="Ada Quill", description={"length_ft": 20}, count=3, paid=True
)
GIVEN = report("release", None, order=id_of(ORDERED), count=3, reference="COLLECT-3")


@pytest.fixture
def released(depot: Depot) -> Depot:
    """A box that may be collected on a reference of its own, and is known by it."""
    depot.record(report("gate-in"), report("sale"), report("release", haulier="Hob and Cart"))
    return depot


@pytest.fixture
def ordered(depot: Depot) -> Depot:
    """Three boxes of which any may be collected on one reference."""
    depot.record(*(report("gate-in", one, size_type="22G1") for one in (BOX, OTHER, THIRD)))
    depot.record(ORDERED, GIVEN)
    return depot


def passing(reference: str, **others: object) -> bytes:
    return report("passing-on", None, reference=reference, collector="Wren Tolley", **others)


def hear(depot: Depot, body: bytes) -> tuple[str, list[str]]:
    (receipt,) = depot.record(body)
    return receipt.state, findings_of(receipt)


def assert_sound(depot: Depot) -> None:
    assert verify(depot.web).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []


def test_new_reference_of_a_unit_opens_the_barrier_and_the_old_does_not(released: Depot) -> None:
    assert hear(released, passing("collect 71")) == ("recorded", [])
    shown = released.show()
    release = shown.record["release"]
    assert (release["collector"], release["haulier"]) == ("Wren Tolley", None)
    assert list(release["former"]) == ["COLLECT-71"]
    assert (shown.history[-1]["kind"], shown.history[-1]["resolved"]) == (
        "passing-on",
        {"reference": release["reference"]},
    )
    old = may_leave(released.web, BOX, reference="COLLECT-71")
    assert [one.id for one in old.findings] == ["clearance.passed-on"]
    assert may_leave(released.web, BOX, reference=release["reference"]).is_given
    copied = report("clearance", reference="COLLECT-71")
    assert hear(released, copied) == ("refused", ["clearance.passed-on"])
    again = passing("COLLECT-71")
    assert hear(released, again) == ("refused", ["clearance.passed-on"])
    assert hear(released, report("clearance", reference=release["reference"])) == ("recorded", [])
    assert hear(released, passing(release["reference"])) == ("refused", ["clearance.used-up"])
    assert_sound(released)


def test_no_manager_lets_the_old_reference_pass(released: Depot) -> None:
    released.record(passing("COLLECT-71"))
    asked = report("clearance", reference="COLLECT-71", override_reason="he says it is his")
    assert hear(released, asked) == ("refused", ["clearance.passed-on"])


def test_part_of_an_orders_reference_goes_on_and_each_collects_its_own(ordered: Depot) -> None:
    assert hear(ordered, passing("COLLECT-3", count=2, haulier="Reed Haulage")) == ("recorded", [])
    old, new = ordered.one("SELECT body->'collection' FROM orders")
    assert (old["count"], old["passed_on"], old["passed_on_at"]) == (1, 2, None)
    assert (new["count"], new["passed_from"], new["haulier"]) == (2, old["id"], "Reed Haulage")
    outcomes = [
        hear(ordered, report("clearance", mark, reference=reference))
        for mark, reference in (
            (BOX, "COLLECT-3"),
            (OTHER, "COLLECT-3"),
            (OTHER, new["reference"]),
            (THIRD, new["reference"]),
        )
    ]
    assert outcomes == [
        ("recorded", []),
        ("refused", ["clearance.used-up"]),
        ("recorded", []),
        ("recorded", []),
    ]
    assert_sound(ordered)


def test_note_of_the_new_reference_names_who_collects_and_the_old_one_says_why(
    ordered: Depot,
) -> None:
    ordered.record(passing("COLLECT-3"))
    new = ordered.one("SELECT body->'collection'->1->>'reference' FROM orders")
    paper = collection_note_by(ordered.web, Sight(None), new)
    assert (paper.collector, paper.left) == ("Wren Tolley", 3)
    old = collection_note_by(ordered.web, Sight(None), "COLLECT-3")
    assert old.left == 0
    assert "was passed on at 2026-03-02 08:00 UTC and is good no more" in old.against[0]


def test_reference_that_nobody_gave_is_not_passed_on(released: Depot) -> None:
    assert hear(released, passing("NOBODYS-1")) == ("refused", ["clearance.unknown-reference"])


def test_reference_is_used_or_passed_on_and_never_both(depot: Depot) -> None:
    fleet = [f"{BOX[:4]}{number:06d}" for number in range(60)]
    made = [report("gate-in", mark, size_type="22G1") for mark in fleet]
    made += [report("sale", mark) for mark in fleet]
    made += [report("release", mark, reference=f"OWN-{mark}") for mark in fleet]
    depot.record(*made)
    asked = [
        (report("clearance", mark, reference=f"OWN-{mark}"), passing(f"OWN-{mark}"))
        for mark in fleet
    ]
    depot.send(*(body for pair in asked for body in pair))
    depot.drain_all(workers=4)
    outcomes = depot.outcomes()
    for pair in asked:
        assert sorted(outcomes[id_of(body)] for body in pair) == ["recorded", "refused"]
    assert_sound(depot)


def test_two_hundred_pass_one_reference_on_and_one_of_them_does(ordered: Depot) -> None:
    asked = [passing("COLLECT-3", count=3) for _ in range(100)]
    asked += [report("clearance", BOX, reference="COLLECT-3") for _ in range(100)]
    ordered.send(*asked)
    ordered.drain_all(workers=4)
    outcomes = ordered.outcomes()
    passed = Counter(outcomes[id_of(body)] for body in asked[:100])["recorded"]
    cleared = Counter(outcomes[id_of(body)] for body in asked[100:])["recorded"]
    assert (passed, cleared) in {(1, 0), (0, 1)}
    opens = ordered.one(
        "SELECT sum((note->>'count')::int)"
        " FROM orders, json_array_elements(body->'collection') AS note"
    )
    assert opens == 3
    assert_sound(ordered)
