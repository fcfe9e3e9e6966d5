"""Orders by quantity: never more promised than there is, and each count opens the barrier once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from sqlalchemy import text

from shared.clock import SystemClock
from shared.settings import Settings
from tests.support import depot as depots
from tests.support import worker_processes as processes
from tests.support.depot import (
    BOX,
    OTHER,
    THIRD,
    Depot,
    findings_of,
    id_of,
    lane_of,
    marks_of,
    report,
    states,
    wait_until,
)
from tracker.services.drain import drain
from tracker.services.may_leave import may_leave
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

ANY_20 = {"length_ft": 20}


def order(count: int, depot: str = "NORTH", **others: object) -> bytes:
    asked = {"buyer": "Ada Quill", "description": ANY_20, "count": count, "paid": True}
    return report("order", None, depot=depot, **(asked | others))


def release(ordered: bytes, count: int, **others: object) -> bytes:
    return report("release", None, order=id_of(ordered), count=count, reference=None, **others)


def stock_up(depot: Depot, *marks: str, **others: object) -> None:
    depot.record(*(report("gate-in", mark, **({"size_type": "22G1"} | others)) for mark in marks))


def hear(depot: Depot, body: bytes) -> tuple[str, list[str]]:
    """Record one event; return what became of it and the ids of what was found."""
    (receipt,) = depot.record(body)
    return receipt.state, findings_of(receipt)


def standing(depot: Depot, ordered: bytes) -> dict[str, Any]:
    return dict(depot.one("SELECT body FROM orders WHERE order_id = :id", id=id_of(ordered)))


def reference_on(depot: Depot, ordered: bytes) -> str:
    return str(standing(depot, ordered)["collection"][-1]["reference"])


def assert_sound(depot: Depot) -> None:
    assert verify(depot.web).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []


def test_order_of_more_than_there_is_is_refused_and_says_how_many_there_are(depot: Depot) -> None:
    stock_up(depot, BOX, OTHER)
    stock_up(depot, THIRD, size_type="45G1")
    (receipt,) = depot.record(order(3))
    assert (receipt.state, findings_of(receipt)) == ("refused", ["order.too-few-in-stock"])
    assert receipt.verdict is not None
    assert receipt.verdict.findings[0].expected == 2
    assert hear(depot, order(2)) == ("recorded", [])
    assert hear(depot, order(1)) == ("refused", ["order.too-few-in-stock"])
    assert hear(depot, order(1, "SOUTH")) == ("refused", ["order.too-few-in-stock"])
    assert_sound(depot)


def test_order_finer_than_its_currency_is_refused_and_another_is_summed_up_in_it(
    depot: Depot,
) -> None:
    yen = depot.with_settings(currency="JPY", tax_rate_percent="10")
    stock_up(yen, BOX, OTHER)
    assert hear(yen, order(1, price_each="15005.5")) == (
        "refused",
        ["price.finer-than-its-currency"],
    )
    placed = order(2, price_each="15005")
    assert hear(yen, placed) == ("recorded", [])
    stood = standing(yen, placed)
    assert (stood["net"], stood["tax"], stood["gross"]) == ("30010", "3001", "33011")
    assert_sound(yen)


def test_not_even_a_manager_promises_what_is_still_to_come(depot: Depot) -> None:
    placed = order(1, override_reason="a batch comes tomorrow")
    assert hear(depot, placed) == ("refused", ["order.too-few-in-stock"])


@pytest.mark.parametrize("kind", ["sale", "reservation"])
def test_last_unit_that_an_order_counts_on_is_not_sold_or_kept(depot: Depot, kind: str) -> None:
    stock_up(depot, BOX, OTHER)
    depot.record(order(1))
    assert hear(depot, report(kind, BOX)) == ("recorded", [])
    assert hear(depot, report(kind, OTHER)) == ("refused", ["sale.promised-to-orders"])


def test_sale_asked_for_at_another_depot_counts_where_the_unit_stands(depot: Depot) -> None:
    stock_up(depot, BOX)
    depot.record(order(1))
    refused = ("refused", ["sale.promised-to-orders"])
    assert hear(depot, report("sale", BOX, depot="SOUTH")) == refused


def test_order_is_collected_in_two_visits_and_no_third(depot: Depot) -> None:
    stock_up(depot, *marks_of(4))
    one, two, three, four = marks_of(4)
    placed = order(3)
    assert states(depot.record(placed, release(placed, 2, haulier="Reed Haulage"))) == [
        "recorded",
        "recorded",
    ]
    given = reference_on(depot, placed)
    shown = given.replace("-", " ").lower()
    assert may_leave(depot.web, one, reference=given).is_given
    assert hear(depot, report("clearance", one, reference=shown)) == ("recorded", [])
    assert hear(depot, report("clearance", two, reference=given)) == ("recorded", [])
    assert hear(depot, report("clearance", three, reference=given)) == (
        "refused",
        ["clearance.used-up"],
    )
    left = may_leave(depot.web, three, reference=given)
    assert [one.id for one in left.findings] == ["clearance.used-up"]
    found = standing(depot, placed)
    assert (found["state"], len(found["allotted"])) == ("open", 2)
    sold = depot.show(one).record["sale"]
    assert (sold["order"], sold["buyer"]) == (id_of(placed), "Ada Quill")
    assert hear(depot, release(placed, 2)) == ("refused", ["order.released-too-many"])
    assert hear(depot, release(placed, 1)) == ("recorded", [])
    assert hear(depot, report("clearance", four, reference=reference_on(depot, placed))) == (
        "recorded",
        [],
    )
    assert standing(depot, placed)["state"] == "filled"
    assert hear(depot, release(placed, 1)) == (
        "refused",
        ["order.closed", "order.released-too-many"],
    )
    assert_sound(depot)


def test_wrong_haulier_is_refused_unless_a_manager_lets_it(depot: Depot) -> None:
    stock_up(depot, BOX)
    placed = order(1)
    depot.record(placed, release(placed, 1, haulier="Reed Haulage"))
    asked = {"reference": reference_on(depot, placed), "haulier": "Vale Freight"}
    assert hear(depot, report("clearance", BOX, **asked)) == (
        "refused",
        ["clearance.wrong-haulier"],
    )
    asked["override_reason"] = "the buyer rang"
    assert hear(depot, report("clearance", BOX, **asked)) == ("recorded", ["release.overridden"])


def test_what_a_manager_let_pass_with_the_reference_opens_the_barrier(depot: Depot) -> None:
    stock_up(depot, BOX, OTHER)
    placed = order(1, paid=False)
    depot.record(placed)
    assert hear(depot, release(placed, 1)) == ("refused", ["order.unpaid"])
    let_pass = release(placed, 1, override_reason="the money is on its way")
    assert hear(depot, let_pass) == ("recorded", ["release.overridden"])
    given = reference_on(depot, placed)
    assert may_leave(depot.web, BOX, reference=given).is_given
    assert hear(depot, report("clearance", BOX, reference=given)) == (
        "recorded",
        ["release.overridden"],
    )
    assert_sound(depot)


def test_unpaid_unit_that_a_manager_let_pass_is_asked_about_everything_else(depot: Depot) -> None:
    stock_up(depot, BOX)
    let_pass = report("release", BOX, override_reason="the money is on its way")
    depot.record(report("sale", BOX, paid=False), let_pass)
    assert may_leave(depot.web, BOX, reference="COLLECT-71").is_given
    depot.record(report("hold", BOX, hold="do-not-lift", reason="a bent post"))
    against = [one.id for one in may_leave(depot.web, BOX).findings if one.severity == "refuse"]
    assert against == ["release.held"]
    assert_sound(depot)


def test_unit_released_on_an_order_is_sold_by_it_and_leaves_on_its_own_reference(
    depot: Depot,
) -> None:
    stock_up(depot, BOX, OTHER)
    placed = order(2)
    depot.record(placed)
    allotting = report("release", BOX, order=id_of(placed), reference="GREY 7")
    assert hear(depot, allotting) == ("recorded", [])
    assert depot.show(BOX).record["release"]["reference"] == "GREY 7"
    assert hear(depot, report("release", OTHER, order=id_of(placed), reference="grey7")) == (
        "refused",
        ["release.reference-taken"],
    )
    assert hear(depot, report("clearance", BOX, reference="GREY 7")) == ("recorded", [])
    assert [row["kind"] for row in depot.show(BOX).history] == ["gate-in", "release", "clearance"]
    assert len(standing(depot, placed)["allotted"]) == 1
    assert_sound(depot)


def test_unit_taken_off_its_order_gives_its_count_back(depot: Depot) -> None:
    stock_up(depot, BOX, OTHER)
    placed = order(1)
    depot.record(placed, release(placed, 1))
    given = reference_on(depot, placed)
    cleared = report("clearance", BOX, reference=given)
    depot.record(cleared)
    assert standing(depot, placed)["state"] == "filled"
    undone = report("cancellation", None, cancels=id_of(cleared), reason="the lorry broke down")
    assert hear(depot, undone) == ("recorded", [])
    assert depot.show(BOX).record["sale"] is None
    found = standing(depot, placed)
    assert (found["state"], found["allotted"], found["collection"][0]["used"]) == ("open", [], 0)
    assert hear(depot, report("clearance", OTHER, reference=given)) == ("recorded", [])
    assert_sound(depot)


def test_cancelled_order_sets_its_units_free_and_its_references_out_of_use(depot: Depot) -> None:
    stock_up(depot, BOX)
    placed = order(1)
    depot.record(placed, release(placed, 1))
    cancelled = report("cancellation", None, cancels=id_of(placed), reason="changed their mind")
    assert hear(depot, cancelled) == ("recorded", [])
    again = report("cancellation", None, cancels=id_of(placed), reason="changed their mind")
    assert hear(depot, again) == ("refused", ["order.closed"])
    asked = report("clearance", BOX, reference=reference_on(depot, placed))
    assert hear(depot, asked) == ("refused", ["order.closed", "clearance.used-up"])
    assert hear(depot, report("sale", BOX)) == ("recorded", [])


def test_withdrawn_reference_gives_its_count_back_to_the_order(depot: Depot) -> None:
    stock_up(depot, BOX)
    placed = order(1)
    given = release(placed, 1)
    depot.record(placed, given)
    assert hear(depot, release(placed, 1)) == ("refused", ["order.released-too-many"])
    withdrawn = report("cancellation", None, cancels=id_of(given), reason="sent to the wrong man")
    assert hear(depot, withdrawn) == ("recorded", [])
    assert hear(depot, release(placed, 1)) == ("recorded", [])


def test_unit_of_another_depot_goes_on_no_order_here(depot: Depot) -> None:
    stock_up(depot, BOX)
    depot.record(report("gate-in", OTHER, depot="SOUTH", size_type="22G1"))
    placed = order(1)
    depot.record(placed, release(placed, 1))
    asked = report("clearance", OTHER, depot="SOUTH", reference=reference_on(depot, placed))
    assert hear(depot, asked) == ("refused", ["order.unit-does-not-fit"])


def test_unknown_order_and_unknown_unit_are_refused(depot: Depot) -> None:
    stock_up(depot, BOX)
    nowhere = order(1)
    assert hear(depot, release(nowhere, 1)) == ("refused", ["order.unknown"])
    assert hear(depot, report("release", BOX, order=id_of(nowhere))) == (
        "refused",
        ["order.unknown"],
    )
    placed = order(1)
    depot.record(placed)
    assert hear(depot, report("release", OTHER, order=id_of(placed))) == (
        "refused",
        ["decision.unknown-unit"],
    )


def test_order_sale_and_collection_in_one_batch_see_each_other(depot: Depot) -> None:
    placed = order(2)
    given = "GREY 7"
    arrivals = [report("gate-in", mark, size_type="22G1") for mark in (BOX, OTHER, THIRD)]
    bodies = [
        *arrivals,
        placed,
        report("sale", THIRD),
        report("sale", OTHER),
        report("release", None, order=id_of(placed), count=2, reference=given),
        *(report("clearance", mark, reference=given) for mark in (BOX, THIRD, OTHER, OTHER)),
    ]
    one_lane = depot.with_settings(lanes=1)
    found = one_lane.record(*bodies)
    assert states(found[3:]) == [
        "recorded",
        "recorded",
        "refused",
        "recorded",
        "recorded",
        "refused",
        "recorded",
        "refused",
    ]
    assert findings_of(found[5]) == ["sale.promised-to-orders"]
    assert_sound(depot)


def test_rebuilding_finds_an_order_that_was_changed_and_one_that_nobody_placed(
    depot: Depot,
) -> None:
    stock_up(depot, BOX)
    placed = order(1)
    depot.record(placed)
    depot.change("UPDATE orders SET body = jsonb_set(body::jsonb, '{count}', '9')::json")
    assert list(map(str, rebuild(depot.worker, check_only=True).differing)) == [id_of(placed)]
    depot.change(
        "INSERT INTO orders (order_id, depot, state, outstanding, body)"
        " VALUES ('00000000-0000-0000-0000-000000000007', 'NORTH', 'open', 1, '{}')"
    )
    assert len(rebuild(depot.worker, check_only=False).differing) == 2
    assert standing(depot, placed)["count"] == 1
    assert depot.one("SELECT count(*) FROM orders") == 1
    assert_sound(depot)


def side_by_side(depot: Depot, first: bytes, second: bytes, unit: str) -> list[str]:
    """Judge two events in drains that meet: the first is stopped at the unit it has to lock.

    Returns the outcomes, sorted. The second must be waiting by then, for the first.
    """
    depot.send(first)
    (lane,) = depot.lanes_waiting()
    with ThreadPoolExecutor(2) as pool:
        with depot.owner.begin() as holding:
            query = text("SELECT FROM heads WHERE stream_id = :unit FOR UPDATE")
            holding.execute(query, {"unit": depot.unit_id(unit)})
            drains = [pool.submit(drain, depot.worker, lane)]
            depot.wait_until_blocked(1)
            depot.send(second)
            (other,) = set(depot.lanes_waiting()) - {lane}
            drains.append(pool.submit(drain, depot.worker, other))
            depot.wait_until_blocked(2)
        for done in drains:
            done.result()
    return sorted(depot.outcomes()[id_of(body)] for body in (first, second))


def in_other_lane(make: Callable[[], bytes], mark: str) -> bytes:
    """Return an event that waits in another lane than those of a mark."""
    return next(body for body in iter(make, None) if lane_of(id_of(body)) != lane_of(mark))


def test_order_waits_for_a_sale_of_the_last_unit_that_is_under_way(depot: Depot) -> None:
    stock_up(depot, BOX)
    placed = in_other_lane(lambda: order(1), BOX)
    assert side_by_side(depot, report("sale", BOX), placed, BOX) == ["recorded", "refused"]
    assert depot.one("SELECT count(*) FROM orders") == 0


def test_two_sales_that_would_leave_an_order_short_together_wait_for_each_other(
    depot: Depot,
) -> None:
    near, far = BOX, next(mark for mark in marks_of(20) if lane_of(mark) != lane_of(BOX))
    stock_up(depot, near, far)
    depot.record(order(1))
    # Two buyers: writing down the same new name would make them wait in any case.
    both = report("sale", near), report("sale", far, buyer="Bo Thorn")
    assert side_by_side(depot, *both, near) == ["recorded", "refused"]
    assert depot.one("SELECT count(*) FROM records WHERE free AND reserved_until IS NULL") == 1


def test_sale_reported_from_another_depot_waits_all_the_same(depot: Depot) -> None:
    stock_up(depot, BOX)
    placed = in_other_lane(lambda: order(1), BOX)
    abroad = report("sale", BOX, depot="SOUTH")
    assert side_by_side(depot, abroad, placed, BOX) == ["recorded", "refused"]


def test_two_hundred_at_once_never_promise_more_than_there_is(depot: Depot) -> None:
    fleet = marks_of(30)
    stock_up(depot, *fleet)
    asked = [order(1 + number % 3) for number in range(60)]
    asked += [report("sale", fleet[number % 30]) for number in range(60)]
    asked += [report("reservation", fleet[(7 * number) % 30]) for number in range(80)]
    depot.send(*asked)
    depot.drain_all(workers=4)
    promised = depot.one("SELECT sum(outstanding) FROM orders")
    free = depot.one("SELECT count(*) FROM records WHERE free")
    taken = depot.one("SELECT count(*) FROM records WHERE stands <> 'free'")
    assert (free + taken, promised) == (30, free), "all is promised, and nothing twice"
    assert len(depot.outcomes()) == 230
    assert_sound(depot)


def test_two_hundred_clearances_side_by_side_empty_each_reference_once(depot: Depot) -> None:
    fleet = marks_of(100)
    stock_up(depot, *fleet)
    placed = [order(3) for _ in range(4)]
    depot.record(*placed)
    depot.record(*(release(one, 2) for one in placed))
    given = [reference_on(depot, one) for one in placed]
    asked = [
        report("clearance", fleet[number % 100], reference=given[number % 4])
        for number in range(200)
    ]
    depot.send(*asked)
    depot.drain_all(workers=4)
    outcomes = Counter(depot.outcomes()[id_of(body)] for body in asked)
    assert outcomes == {"recorded": 8, "refused": 192}
    assert [len(standing(depot, one)["allotted"]) for one in placed] == [2, 2, 2, 2]
    assert_sound(depot)


def test_workers_sell_a_unit_once_and_open_the_barrier_once_of_two_hundred_times(
    settings: Settings,
) -> None:
    settings = settings.changed(lanes=4, drain_batch=20, drain_budget_ms=50, sweep_every_s=0.5)
    with depots.open_up(settings, SystemClock()) as depot:
        fleet = marks_of(200)
        stock_up(depot, BOX, *fleet)
        placed = order(1)
        depot.record(placed)
        depot.record(release(placed, 1))
        given = reference_on(depot, placed)
        sales = [report("sale", BOX, buyer=f"Buyer {number}") for number in range(200)]
        asked = [report("clearance", mark, reference=given) for mark in fleet]
        with processes.run_slow_work(settings), processes.run_drains(settings):
            both = [body for pair in zip(sales, asked, strict=True) for body in pair]
            depot.send(*both)
            wait_until(lambda: depot.one("SELECT count(*) FROM intake") == 0)
        outcomes = depot.outcomes()
        assert Counter(outcomes[id_of(body)] for body in sales)["recorded"] == 1
        assert Counter(outcomes[id_of(body)] for body in asked)["recorded"] == 1
        assert_sound(depot)
