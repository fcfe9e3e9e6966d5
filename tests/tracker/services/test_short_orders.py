"""Facts that leave an order short are told to the sales desk, once, until it is covered again."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, lane_of, report
from tracker.services import alerts_desk, short_orders
from tracker.services.alerts_desk import AlertName
from tracker.services.daily_round import make_rounds
from tracker.services.drain import drain
from tracker.services.listings import open_alerts

LETTERS = "SELECT count(*) FROM outbox WHERE subject LIKE 'Order short%'"
WANTED = {"length_ft": 20, "conditions": ["cargo-worthy"]}
AT = "2026-03-02T07:40:00+00:00"


def order(count: int, **others: object) -> bytes:
    asked = {"buyer": "Ada Quill", "description": WANTED, "count": count, "paid": True}
    return report("order", None, **(asked | others))


def stock_up(depot: Depot, *marks: str) -> None:
    for mark in marks:
        depot.record(report("gate-in", mark, size_type="22G1"))
        depot.record(
            report(
                "inspection",
                mark,
                condition="cargo-worthy",
                happened_at="2026-03-02T07:10:00+00:00",
            )
        )


def short(depot: Depot) -> list[dict[str, Any]]:
    found = open_alerts(depot.web, "NORTH")
    return [one for one in found if one["kind"] == "order-short"]


LEAVES_SHORT = {
    "hold": {"hold": "do-not-lift", "reason": "a corner post is bent"},
    "gate-out": {"purpose": "transfer", "to_depot": "SOUTH", "happened_at": AT},
    "disposal": {"manner": "scrapped", "happened_at": AT},
    "inspection": {"condition": "as-is", "happened_at": AT},
}


@pytest.mark.parametrize("kind", LEAVES_SHORT)
def test_whatever_takes_a_unit_from_an_order_tells_the_sales_desk_once(
    depot: Depot, kind: str
) -> None:
    depot.open_depot("NORTH")
    stock_up(depot, BOX, OTHER)
    ordered = order(2, reference="PO 7")
    depot.record(ordered)
    assert short(depot) == []
    depot.record(report(kind, **LEAVES_SHORT[kind]))
    (alert,) = short(depot)
    assert (alert["role"], alert["cause"]) == ("sales", id_of(ordered))
    assert "Order PO 7 is short: 1 of its units cannot be found" in alert["says"]
    assert "Ada" not in alert["says"]
    depot.record(report("sighting", OTHER, happened_at=AT))
    short_orders.look(depot.worker, ["NORTH"])
    assert (len(short(depot)), depot.one(LETTERS)) == (1, 1)


def test_alert_goes_when_the_order_is_covered_or_cancelled(
    depot: Depot, clock: StandingClock
) -> None:
    stock_up(depot, BOX)
    ordered, held = order(1), report("hold", hold="do-not-lift", reason="bent")
    depot.record(ordered)
    depot.record(held)
    assert len(short(depot)) == 1
    depot.record(report("hold-cleared", clears=id_of(held), evidence="straightened"))
    assert short(depot) == []
    clock.move(timedelta(minutes=5))
    again = report("hold", hold="do-not-lift", reason="bent")
    depot.record(again)
    assert (len(short(depot)), depot.one(LETTERS)) == (1, 2)
    stock_up(depot, OTHER)
    assert short(depot) == []
    depot.record(report("disposal", OTHER, manner="scrapped", happened_at=AT))
    assert len(short(depot)) == 1
    depot.record(report("cancellation", None, cancels=id_of(ordered), reason="gave it up"))
    assert short(depot) == []


def test_more_that_are_missing_are_told_anew(depot: Depot) -> None:
    stock_up(depot, BOX, OTHER)
    depot.record(order(2))
    for missing, mark in enumerate((BOX, OTHER), start=1):
        depot.record(report("disposal", mark, manner="scrapped", happened_at=AT))
        (alert,) = short(depot)
        assert f"{missing} of its units cannot be found" in alert["says"]
    assert depot.one(LETTERS) == 2


def test_drains_side_by_side_miss_nothing_that_they_did_together(depot: Depot) -> None:
    marks = [BOX, OTHER, THIRD, "ZZZU3000034"]
    stock_up(depot, *marks)
    depot.record(order(2))
    depot.send(*(report("disposal", mark, manner="lost", happened_at=AT) for mark in marks))
    lanes = {lane_of(mark) for mark in marks}
    assert len(lanes) > 1
    with ThreadPoolExecutor(len(lanes)) as pool:
        list(pool.map(lambda lane: drain(depot.worker, lane), lanes))
    (alert,) = short(depot)
    assert "2 of its units cannot be found" in alert["says"]


def test_round_makes_up_for_a_drain_that_died_before_it_looked(depot: Depot) -> None:
    depot.open_depot("NORTH", sales="desk@north.example")
    stock_up(depot, BOX)
    depot.record(order(1))
    depot.record(report("hold", hold="do-not-lift", reason="bent"))
    depot.change("DELETE FROM alerts")
    make_rounds(depot.worker, on=date(2026, 3, 2))
    assert len(short(depot)) == 1
    make_rounds(depot.worker, on=date(2026, 3, 3))
    mails = depot.rows("SELECT subject, body FROM outbox WHERE subject LIKE 'NORTH, 2026-03-03%'")
    assert any("cannot be found" in str(mail["body"]) for mail in mails)


def test_alert_is_answered_by_the_id_of_its_order(depot: Depot) -> None:
    stock_up(depot, BOX)
    ordered = order(1)
    depot.record(ordered)
    depot.record(report("hold", hold="do-not-lift", reason="bent"))
    name = AlertName(id_of(ordered), "order-short")
    (row,) = alerts_desk.acknowledge(
        depot.web, name, by="Bo Thorn", reason="one comes on Friday", actor=None
    )
    assert row.unit_id == UUID(id_of(ordered))
    assert short(depot)[0]["reason"] == "one comes on Friday"


@pytest.mark.parametrize(
    ("promise", "breaches"),
    [("sale", ["sale.disposed-when-promised"]), ("reservation", ["sale.disposed-when-promised"]),
     (None, [])],
)  # fmt: skip
def test_disposal_of_a_promised_unit_is_a_breach(
    depot: Depot, promise: str | None, breaches: list[str]
) -> None:
    depot.record(report("gate-in", size_type="22G1"))
    if promise:
        depot.record(report(promise))
    # A sale counts from when it was asked for; the unit is scrapped after it.
    depot.record(report("disposal", manner="scrapped", happened_at="2026-03-02T08:10:00+00:00"))
    assert [one["finding"] for one in depot.show(BOX).record["breaches"]] == breaches
