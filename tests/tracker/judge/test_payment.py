"""What was sold unpaid is paid later, by a decision of its own."""

from uuid import UUID

import pytest

from schemas.records import LiveSale
from tests.support.events import START, UNIT, make_entry, make_event, make_record
from tests.support.model import Model
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import moment_text
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook

NOW = moment_text(START)
SALE = str(UUID(int=7))


@pytest.mark.parametrize(
    ("sale", "refused"),
    [
        (LiveSale(SALE, "Ada", "storage", NOW), []),
        (LiveSale(SALE, "Ada", "storage", NOW, on_credit=True), []),
        (LiveSale(SALE, "Ada", "storage", NOW, paid=True), ["payment.paid-already"]),
        (LiveSale("another", "Ada", "storage", NOW), ["payment.nothing-to-pay"]),
        (None, ["payment.nothing-to-pay"]),
        (LiveSale(SALE, "Ada", "storage", NOW, order="o"), ["payment.goes-to-order"]),
    ],
)
def test_payment_is_of_a_live_sale_that_was_not_paid(
    sale: LiveSale | None, refused: list[str]
) -> None:
    event = make_event("payment", pays=SALE)
    judged = judge_decision(event, make_record(sale=sale), START, Rulebook())
    assert [one.id for one in judged.findings] == refused


def sold(**changes: object) -> list:
    return [
        make_entry("gate-in"),
        make_entry("sale", at=1, id=SALE, paid=False, **changes),
        make_entry("payment", at=2, id=str(UUID(int=8)), pays=SALE),
    ]


def test_sale_is_paid_from_the_payment_on_and_unpaid_once_that_is_cancelled() -> None:
    history = sold()
    before = fold(UNIT, history, until=moment_text(START)).sale
    assert before is None
    assert fold(UNIT, history[:2]).sale.paid is False
    paid = fold(UNIT, history).sale
    assert (paid.paid, paid.paid_by) == (True, str(UUID(int=8)))
    undone = make_entry("cancellation", at=3, cancels=str(UUID(int=8)))
    assert fold(UNIT, [*history, undone]).sale.paid is False
    again = make_entry("sale", at=4, paid=False)
    taken_back = make_entry("take-back", at=3)
    assert fold(UNIT, [*history, taken_back, again]).sale.paid is False


def test_order_is_paid_later_also_when_it_is_filled() -> None:
    model = Model()
    model.tell("gate-in", size_type="22G1")
    asked = {"description": {"length_ft": 20}, "count": 1, "paid": False}
    order = make_event("order", **asked)
    model.judge(order, START)
    assert model.tell("release", mark=None, order=str(order.id)).outcome == "refused"
    pay = {"mark": None, "pays": str(order.id)}
    payment = make_event("payment", **pay)
    assert model.judge(payment, START).outcome == "recorded"
    (told,) = model.tell("payment", **pay).findings
    assert told["id"] == "payment.paid-already"
    assert model.tell("release", order=str(order.id), reference=None).outcome == "recorded"
    assert model.order(str(order.id)).state == "filled"
    undone = model.tell("cancellation", mark=None, cancels=str(payment.id))
    assert (undone.outcome, model.order(str(order.id)).paid) == ("recorded", False)
    assert model.tell("payment", **pay).outcome == "recorded"


def test_cancelled_order_is_paid_no_more_and_an_unknown_one_never() -> None:
    model = Model()
    model.tell("gate-in", size_type="22G1")
    order = make_event("order", description={"length_ft": 20}, count=1, paid=False)
    model.judge(order, START)
    model.tell("cancellation", mark=None, cancels=str(order.id))
    for pays, rule in ((str(order.id), "order.closed"), (SALE, "order.unknown")):
        (told,) = model.tell("payment", mark=None, pays=pays).findings
        assert told["id"] == rule
