"""What the barrier is answered: on a release of its own, on an order's reference, once cleared."""

from __future__ import annotations

import pytest

from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, report
from tracker.services.may_leave import Leave, may_leave

OWN = "QUILL-7K4M2P"
ORDERS = "BAND-3XX7QQ"


@pytest.fixture
def yard(depot: Depot) -> Depot:
    """Three boxes stand here; an order for two of them has its reference, for one haulier."""
    for mark in (BOX, OTHER, THIRD):
        depot.record(report("gate-in", mark, size_type="22G1"))
    wanted = {"buyer": "Orin Vale", "description": {"length_ft": 20}, "count": 2, "paid": True}
    depot.record(order := report("order", None, **wanted))
    given = {"order": id_of(order), "count": 2, "reference": ORDERS, "haulier": "Tarn Haulage"}
    depot.record(report("release", None, **given))
    return depot


def ask(depot: Depot, mark: str = BOX, **driver: str) -> Leave:
    return may_leave(depot.web, mark, **driver)


def refused(leave: Leave) -> list[str]:
    return [finding.id for finding in leave.refusals]


def test_free_unit_may_leave_on_an_orders_reference_and_is_told_how_many_are_left(
    yard: Depot,
) -> None:
    leave = ask(yard, reference=ORDERS, haulier="Tarn Haulage")
    assert (leave.is_given, leave.is_cleared) == (True, False)
    assert (leave.left, leave.haulier) == (2, "Tarn Haulage")
    assert refused(ask(yard, reference=ORDERS, haulier="Nobody Ltd")) == ["clearance.wrong-haulier"]


def test_unit_that_was_cleared_on_an_orders_reference_may_pass(yard: Depot) -> None:
    yard.record(report("clearance", reference=ORDERS, haulier="Tarn Haulage"))
    for driver in ({}, {"reference": ORDERS}, {"reference": "band 3xx7qq"}):
        leave = ask(yard, **driver)
        assert (leave.is_given, leave.is_cleared) == (True, True), driver
    assert ask(yard, OTHER, reference=ORDERS).left == 1
    other = ask(yard, reference=ORDERS, haulier="Nobody Ltd")
    assert (refused(other), other.is_cleared) == (["clearance.wrong-haulier"], False)


def test_what_a_manager_let_pass_stays_let_pass(yard: Depot) -> None:
    asked = {"reference": ORDERS, "haulier": "Moss Carriers"}
    yard.record(report("clearance", **asked, override_reason="their lorry broke down"))
    assert (ask(yard, **asked).is_cleared, ask(yard).haulier) == (True, "Moss Carriers")
    assert ask(yard, reference=ORDERS, haulier="Tarn Haulage").is_cleared


def test_cleared_unit_that_was_held_since_stays_here(yard: Depot) -> None:
    yard.record(report("clearance", reference=ORDERS))
    yard.record(report("hold", hold="do-not-lift", reason="a corner post is bent"))
    leave = ask(yard, reference=ORDERS)
    assert (refused(leave), leave.is_cleared) == (["release.held"], False)
    assert not leave.may_be_let_pass


def test_reference_that_nobody_gave_and_one_of_another_unit_are_told_apart(yard: Depot) -> None:
    assert refused(ask(yard, reference="NOBODY-KNOWS"))[0] == "clearance.unknown-reference"
    yard.record(report("sale", OTHER), report("release", OTHER, reference=OWN))
    assert refused(ask(yard, reference=OWN))[0] == "clearance.wrong-reference"
    assert refused(ask(yard, OTHER, reference="NOBODY-KNOWS")) == ["clearance.wrong-reference"]
    assert ask(yard, OTHER).is_given
    assert ask(yard, OTHER, reference=OWN).is_given


def test_only_what_is_commercial_may_be_let_pass(yard: Depot) -> None:
    assert ask(yard, reference=ORDERS, haulier="Nobody Ltd").may_be_let_pass
    assert not ask(yard, reference=ORDERS).may_be_let_pass
    assert not ask(yard, reference="NOBODY-KNOWS", haulier="Nobody Ltd").may_be_let_pass
