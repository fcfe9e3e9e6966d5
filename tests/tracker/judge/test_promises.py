"""The best way to hand units out, against trying every way; and what it lets be promised."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.orders import OrderRecord
from schemas.records import LiveHold, LiveReservation, LiveSale, Record, is_free
from tests.support.events import START, make_record
from tracker.judge.descriptions import Kind, kind_of, misfits
from tracker.judge.entry import moment_text
from tracker.judge.orders import leaves_orders_short
from tracker.judge.promises import Promises, count_kinds, most_kept

NOW, LATER = moment_text(START), moment_text(START + timedelta(minutes=1))
RED, BLUE = (Kind("22G1", None, colour, None) for colour in ("red", "blue"))
ANY, ONLY_RED = (
    {"length_ft": 20, "types": ["G", "V"]},
    {
        "length_ft": 20,
        "types": ["G"],
        "colour": "red",
    },
)


def order(name: str, count: int, description: dict[str, Any] = ANY) -> OrderRecord:
    return OrderRecord(name, depot="NORTH", description=description, count=count, paid=True)


def box(colour: str = "red", **changes: object) -> Record:
    return make_record(size_type="22G1", colour=colour, **changes)


def try_every_way(groups: list[tuple[frozenset[str], int]], wanted: dict[str, int]) -> int:
    """Give each unit to nobody or to one of those it fits, and keep the best."""
    units = [fits for fits, count in groups for _ in range(count)]

    @cache
    def best(at: int, missing: tuple[tuple[str, int], ...]) -> int:
        if at == len(units):
            return 0
        found = best(at + 1, missing)
        for name, count in missing:
            if count and name in units[at]:
                less = tuple((one, left - (one == name)) for one, left in missing)
                found = max(found, 1 + best(at + 1, less))
        return found

    return best(0, tuple(wanted.items()))


NAMES = "abcd"
GROUPS = st.dictionaries(st.frozensets(st.sampled_from(NAMES), min_size=1), st.integers(0, 3))


@settings(derandomize=True, max_examples=150, deadline=None)
@given(GROUPS, st.dictionaries(st.sampled_from(NAMES), st.integers(0, 4)))
def test_most_kept_is_the_best_of_all_ways(
    groups: dict[frozenset[str], int], wanted: dict[str, int]
) -> None:
    kept = most_kept(list(groups.items()), wanted)
    assert kept == try_every_way(list(groups.items()), wanted)


@pytest.mark.parametrize(
    ("stock", "orders", "asked", "left"),
    [
        ({}, [], ANY, 0),
        ({RED: 3, BLUE: 2}, [], ANY, 5),
        ({RED: 3, BLUE: 2}, [], ONLY_RED, 3),
        ({RED: 3, BLUE: 2}, [order("a", 2)], ANY, 3),
        ({RED: 3, BLUE: 2}, [order("a", 2)], ONLY_RED, 3),
        ({RED: 3, BLUE: 2}, [order("a", 4)], ONLY_RED, 1),
        ({RED: 3, BLUE: 2}, [order("a", 2), order("b", 1, ONLY_RED)], ONLY_RED, 2),
        ({RED: 1}, [order("a", 4)], ANY, 0),
        ({RED: 3, Kind("45G1", None, "red", None): 9, Kind(None, None, None, None): 9}, [], ANY, 3),
    ],
)
def test_as_many_are_left_as_keep_all_that_is_promised(
    stock: dict[Kind, int], orders: list[OrderRecord], asked: dict[str, Any], left: int
) -> None:
    assert Promises(stock, orders).left_for(asked) == left


def test_filled_and_cancelled_orders_wait_for_nothing() -> None:
    filled, cancelled = order("a", 1), order("b", 1)
    filled.allotted, filled.state = ["u"], "filled"
    cancelled.state = "cancelled"
    assert Promises({RED: 1}, [filled, cancelled]).left_for(ANY) == 1


def test_unit_may_go_as_long_as_every_order_can_be_kept() -> None:
    waiting = [order("a", 2, ONLY_RED), order("b", 1)]
    assert leaves_orders_short(box("blue"), Promises({RED: 2, BLUE: 2}, waiting)) == []
    assert leaves_orders_short(box("red"), Promises({RED: 3, BLUE: 1}, waiting)) == []
    (found,) = leaves_orders_short(box("red"), Promises({RED: 2, BLUE: 2}, waiting))
    assert (found.id, found.seen) == (
        "sale.promised-to-orders",
        "2 for order a, 1 for order b",
    )
    (found,) = leaves_orders_short(box("blue"), Promises({RED: 2, BLUE: 1}, waiting))
    assert found.seen == "1 for order b"


def test_unit_that_no_order_would_take_or_that_is_not_free_may_go() -> None:
    promises = Promises({RED: 1}, [order("a", 1, ONLY_RED)])
    assert leaves_orders_short(box("blue"), promises) == []
    kept = box("red", reservation=LiveReservation("r", "Ada", LATER, "storage"))
    assert leaves_orders_short(kept, promises) == []


def test_unit_goes_on_its_own_order_and_not_where_another_order_needs_it() -> None:
    reds, anything = order("a", 3, ONLY_RED), order("b", 3)
    promises = Promises({RED: 3, BLUE: 3}, [reds, anything])
    assert leaves_orders_short(box("red"), promises, goes_on=reds) == []
    assert leaves_orders_short(box("blue"), promises, goes_on=anything) == []
    (found,) = leaves_orders_short(box("red"), promises, goes_on=anything)
    assert found.seen == "3 for order a"


def test_order_that_is_short_already_does_not_keep_the_others_from_theirs() -> None:
    reds, anything = order("a", 3, ONLY_RED), order("b", 3)
    promises = Promises({RED: 3, BLUE: 1}, [reds, anything])
    assert promises.short() == 2
    assert leaves_orders_short(box("red"), promises, goes_on=reds) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"presence": "expected"},
        {"presence": "away"},
        {"mark_state": "in-question"},
        {"purpose": "customer-box"},
        {"purpose": "storage-for-others"},
        {"sale": LiveSale("s", "Ada", "storage", NOW)},
        {"reservation": LiveReservation("r", "Ada", LATER, "storage")},
        {"holds": [LiveHold("h", "do-not-lift", "bent", NOW)]},
        {"merged_into": "another"},
    ],
)
def test_unit_is_free_only_if_nothing_speaks_against_it(changes: dict[str, object]) -> None:
    assert is_free(box(), START)
    assert not is_free(box(**changes), START)


def test_kinds_are_counted_by_all_that_a_description_asks() -> None:
    counted = count_kinds([box(), box(), box("blue"), box(condition="as-is")])
    assert counted == Counter({RED: 2, BLUE: 1, kind_of(box(condition="as-is")): 1})


def test_reservation_that_has_ended_keeps_a_unit_from_no_order() -> None:
    kept = box(reservation=LiveReservation("r", "Ada", LATER, "storage"))
    assert not is_free(kept, START)
    assert is_free(kept, START + timedelta(minutes=1))


def test_unit_is_missed_by_orders_only_if_they_counted_on_it() -> None:
    kept = box("red", reservation=LiveReservation("r", "Ada", LATER, "storage"))
    waiting = [order("a", 1, ONLY_RED)]
    before = Promises({RED: 1}, waiting, START)
    assert leaves_orders_short(kept, before) == []
    after = Promises({RED: 1}, waiting, START + timedelta(minutes=1))
    assert [one.id for one in leaves_orders_short(kept, after)] == ["sale.promised-to-orders"]


def test_what_is_short_is_laid_to_the_youngest_orders_that_can_find_none() -> None:
    old, young, red = order("b", 2), order("a", 1), order("c", 1, ONLY_RED)
    old.ordered_at, young.ordered_at, red.ordered_at = "2026-01", "2026-02", "2026-03"
    orders = [young, red, old]
    assert Promises({RED: 1, BLUE: 3}, orders).short_by_order() == {}
    # The red order takes the red unit: the others do with the blue ones as far as they go.
    assert Promises({RED: 1, BLUE: 2}, orders).short_by_order() == {"c": 1}
    assert Promises({BLUE: 3}, orders).short_by_order() == {"c": 1}
    assert Promises({RED: 1, BLUE: 1}, orders).short_by_order() == {"a": 1, "c": 1}
    assert Promises({}, orders).short_by_order() == {"a": 1, "b": 2, "c": 1}


@given(stock=st.dictionaries(st.sampled_from([RED, BLUE]), st.integers(0, 4)), counts=st.lists(
    st.integers(1, 3), min_size=1, max_size=4))  # fmt: skip
@settings(max_examples=60, deadline=None, derandomize=True)
def test_what_is_short_by_order_adds_up_to_what_is_short(
    stock: dict[Kind, int], counts: list[int]
) -> None:
    orders = [order(str(at), count, ONLY_RED if at % 2 else ANY) for at, count in enumerate(counts)]
    promises = Promises(stock, orders)
    assert sum(promises.short_by_order().values()) == promises.short()


def slow_shortages(stock: dict[Kind, int], orders: list[OrderRecord]) -> dict[str, int]:
    """Serve one order after the other, each for itself, and say what each lacks."""
    fits = {
        one.order_id: [kind for kind in stock if not misfits(kind, one.description)]
        for one in orders
    }

    def kept(some: list[OrderRecord]) -> int:
        groups = [
            (frozenset(one.order_id for one in some if kind in fits[one.order_id]), units)
            for kind, units in stock.items()
        ]
        return most_kept(groups, {one.order_id: one.count for one in some})

    lacks = {}
    for at, one in enumerate(orders):
        if missing := one.count - (kept(orders[: at + 1]) - kept(orders[:at])):
            lacks[one.order_id] = missing
    return lacks


COUNTS = st.lists(st.tuples(st.integers(1, 4), st.sampled_from([ANY, ONLY_RED])), max_size=6)


@settings(derandomize=True, max_examples=150, deadline=None)
@given(st.integers(0, 6), st.integers(0, 6), COUNTS)
def test_orders_of_one_description_are_short_as_if_each_stood_for_itself(
    red: int, blue: int, counts: list[tuple[int, dict[str, Any]]]
) -> None:
    stock = {RED: red, BLUE: blue}
    orders = [order(f"{at:02}", count, wants) for at, (count, wants) in enumerate(counts)]
    lacks = slow_shortages(stock, orders)
    promises = Promises(stock, orders)
    assert promises.short_by_order() == lacks
    assert promises.short() == sum(lacks.values())
    without = slow_shortages({**stock, RED: max(0, red - 1)}, orders)
    if red:
        assert promises.short_without(box("red")) == sum(without.values())


def test_two_hundred_orders_of_two_descriptions_are_asked_about_as_two() -> None:
    """A batch asks this once, and each sale in it twice: it must not grow with the orders."""
    orders = [order(f"{at:03}", 20, (ANY, ONLY_RED)[at % 2]) for at in range(200)]
    assert len(Promises({RED: 9000}, orders)._wanted()) == 2
    assert Promises({RED: 9000}, orders).short_by_order() == {}
