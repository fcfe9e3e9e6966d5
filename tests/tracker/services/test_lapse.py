"""Reservations lapse by an event of the round, once, and only those that have ended."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import event

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, findings_of, id_of, lane_of, report
from tracker.services import deal_view, sight
from tracker.services.daily_round import make_rounds
from tracker.services.drain import drain
from tracker.services.glance import look
from tracker.services.lapse import lapse_reservations
from tracker.services.listings import every_unit
from tracker.services.may_leave import may_leave
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.store.queries import StockFilter

UNTIL = "2026-03-09T12:00:00+00:00"


@pytest.fixture
def kept(depot: Depot, clock: StandingClock) -> Depot:
    """A depot whose box is kept for somebody until noon on 9 March, and it is that noon."""
    depot.open_depot("NORTH")
    depot.record(report("gate-in"), report("reservation", until=UNTIL))
    clock.set(datetime.fromisoformat(UNTIL))
    return depot


def lapse(depot: Depot) -> int:
    new = lapse_reservations(depot.worker)
    depot.drain_all()
    return new


def test_reservation_stands_to_its_moment(kept: Depot, clock: StandingClock) -> None:
    clock.move(timedelta(seconds=-1))
    assert lapse(kept) == 0
    assert kept.show().record["reservation"] is not None


def test_reservation_that_ended_lapses_by_an_event_of_the_round(kept: Depot) -> None:
    assert lapse(kept) == 1
    shown = kept.show()
    assert shown.record["reservation"] is None
    last = shown.history[-1]
    assert (last["kind"], last["reported_by"]) == ("cancellation", "round")
    assert last["event"]["source"] == "round"
    assert kept.one("SELECT stands FROM records") == "free"


def test_lapsing_again_and_again_is_once(kept: Depot, clock: StandingClock) -> None:
    lapse_reservations(kept.worker)
    assert lapse_reservations(kept.worker) == 0
    kept.drain_all()
    clock.move(timedelta(hours=1))
    assert lapse(kept) == 0
    assert kept.one("SELECT count(*) FROM history WHERE kind = 'cancellation'") == 1


def test_reservation_made_anew_meanwhile_is_not_touched(kept: Depot) -> None:
    lapse_reservations(kept.worker)
    kept.drain_all()
    again = report("reservation", until="2026-04-01T12:00:00+00:00")
    assert [one.state for one in kept.record(again)] == ["recorded"]
    assert lapse(kept) == 0
    assert kept.show().record["reservation"] is not None


def test_box_sold_before_has_no_reservation_to_lapse(kept: Depot) -> None:
    kept.record(report("sale"))
    assert lapse(kept) == 0
    assert kept.show().record["sale"] is not None


def test_box_without_a_mark_lapses_by_its_tag(kept: Depot) -> None:
    kept.record(
        report("gate-in", None, tag="T-9"), report("reservation", None, tag="T-9", until=UNTIL)
    )
    assert lapse(kept) == 2
    assert kept.rows("SELECT 1 FROM records WHERE stands <> 'free'") == []


def test_every_tick_lapses_though_the_rounds_of_the_day_are_made(
    kept: Depot, clock: StandingClock
) -> None:
    clock.move(timedelta(hours=-1))
    assert [one.depot for one in make_rounds(kept.worker)] == ["NORTH"]
    clock.move(timedelta(hours=2))
    assert make_rounds(kept.worker) == []
    kept.drain_all()
    assert kept.show().record["reservation"] is None


def test_expiring_reservation_is_told_two_days_ahead_and_on_its_day(kept: Depot) -> None:
    days = [date(2026, 3, day) for day in range(5, 12)]
    told = [day for day in days if any(one.reminded for one in make_rounds(kept.worker, on=day))]
    assert told == [date(2026, 3, 7), date(2026, 3, 9)]
    kept.drain_all()
    assert kept.rows("SELECT 1 FROM alerts WHERE cleared_at IS NULL") == []


def test_box_of_another_is_untouched(kept: Depot) -> None:
    kept.record(
        report("gate-in", OTHER), report("reservation", OTHER, until="2026-03-20T12:00:00Z")
    )
    lapse(kept)
    assert kept.show(OTHER).record["reservation"] is not None
    assert kept.show(BOX).record["reservation"] is None


ANY = {"buyer": "Bo Thorn", "description": {"length_ft": 20}, "count": 1, "paid": True}
JUST_BEFORE = timedelta(microseconds=1)


@pytest.fixture
def ended(depot: Depot, clock: StandingClock) -> Depot:
    """A depot whose one box was kept for Orin Vale until now, and no round has come by."""
    depot.record(report("gate-in", size_type="22G1"), report("reservation", until=UNTIL))
    clock.set(datetime.fromisoformat(UNTIL))
    return depot


def hear(depot: Depot, body: bytes) -> list[str]:
    (receipt,) = depot.record(body)
    assert (receipt.state == "recorded") is not bool(findings_of(receipt))
    return findings_of(receipt)


def is_sound(depot: Depot) -> bool:
    found = rebuild(depot.worker, check_only=True)
    return verify(depot.web).flaws == () and found.differing == []


def stands(depot: Depot, **wanted: str) -> list[str]:
    listed = sight.list_stock(depot.web, sight.Sight(None), StockFilter(**wanted))
    assert list(every_unit(depot.web, StockFilter(**wanted))) == listed
    return [one["stands"] for one in listed]


def test_second_buyer_has_the_unit_at_once_when_a_reservation_ends(
    ended: Depot, clock: StandingClock
) -> None:
    second = {"buyer": "Bo Thorn", "until": "2026-03-19T12:00:00+00:00"}
    clock.move(-JUST_BEFORE)
    assert hear(ended, report("reservation", **second)) == ["sale.reserved-for-another"]
    clock.move(JUST_BEFORE)
    assert hear(ended, report("reservation", **second)) == []
    assert lapse(ended) == 0
    assert ended.show().record["reservation"]["buyer"] == "Bo Thorn"
    assert hear(ended, report("sale", buyer="Orin Vale")) == ["sale.reserved-for-another"]
    assert is_sound(ended)


def test_orders_count_on_the_unit_at_once_when_a_reservation_ends(
    ended: Depot, clock: StandingClock
) -> None:
    clock.move(-JUST_BEFORE)
    assert hear(ended, report("order", None, **ANY)) == ["order.too-few-in-stock"]
    clock.move(JUST_BEFORE)
    assert hear(ended, report("order", None, **ANY)) == []
    assert hear(ended, report("order", None, **ANY)) == ["order.too-few-in-stock"]
    for asked in (report("reservation", until="2026-03-19T12:00:00+00:00"), report("sale")):
        assert hear(ended, asked) == ["sale.promised-to-orders"]
    assert is_sound(ended)


def test_unit_whose_reservation_ended_goes_on_an_order_and_is_reserved_no_more(
    ended: Depot,
) -> None:
    placed = report("order", None, **ANY)
    given = report("release", None, order=id_of(placed), count=1, reference="COLLECT-9")
    ended.record(placed, given)
    assert may_leave(ended.web, BOX, reference="COLLECT-9").is_given
    assert hear(ended, report("clearance", reference="COLLECT-9")) == []
    record = ended.show().record
    assert (record["reservation"], record["sale"]["buyer"]) == (None, "Bo Thorn")
    assert lapse(ended) == 0
    assert is_sound(ended)


def test_lists_show_the_unit_as_free_at_once_when_a_reservation_ends(
    ended: Depot, clock: StandingClock
) -> None:
    def seen() -> tuple[list[str], list[str], list[str], bool]:
        deal = deal_view.show_deal(ended.web, sight.Sight(None), BOX)
        return (
            stands(ended),
            stands(ended, stands="free"),
            stands(ended, stands="reserved"),
            (deal.reservation_ended),
        )

    glance = look(ended.web, sight.Sight(None)).by_deal.rows
    assert dict(glance) == {"free": (1,), "reserved": (0,), "sold": (0,), "released": (0,)}
    assert seen() == (["free"], ["free"], [], True)
    clock.move(-JUST_BEFORE)
    assert seen() == (["reserved"], [], ["reserved"], False)
    glance = look(ended.web, sight.Sight(None)).by_deal.rows
    assert dict(glance) == {"free": (0,), "reserved": (1,), "sold": (0,), "released": (0,)}


def test_glance_tells_of_one_moment_while_a_reservation_lapses(kept: Depot) -> None:
    lapsed: list[int] = []

    def lapse_after_the_first_count(*told: object) -> None:
        if "count(" in str(told[2]) and not lapsed:
            lapsed.append(lapse(kept))

    event.listen(kept.web.engine, "after_cursor_execute", lapse_after_the_first_count)
    told = look(kept.web, sight.Sight(None)).by_deal.rows
    assert lapsed == [1]
    assert dict(told) == {"free": (1,), "reserved": (0,), "sold": (0,), "released": (0,)}


def test_sale_asked_before_the_end_and_judged_after_an_order_leaves_it_not_short(
    ended: Depot, clock: StandingClock
) -> None:
    clock.move(-JUST_BEFORE)
    early = report("sale", buyer="Orin Vale")
    ended.send(early)
    clock.move(timedelta(seconds=1))
    placed = next(
        body for body in (report("order", None, **ANY) for _ in range(200))
        if lane_of(id_of(body)) != lane_of(BOX)
    )  # fmt: skip
    ended.send(placed)
    drain(ended.worker, lane_of(id_of(placed)))
    ended.drain_all()
    outcomes = ended.outcomes()
    assert (outcomes[id_of(placed)], outcomes[id_of(early)]) == ("recorded", "refused")
    assert ended.one("SELECT sum(outstanding) FROM orders") == 1
    assert is_sound(ended)


def test_two_hundred_want_the_unit_whose_reservation_ended_and_one_has_it(ended: Depot) -> None:
    asked = [report("order", None, **ANY) for _ in range(60)]
    asked += [report("sale", buyer=f"Buyer {number}") for number in range(70)]
    until = "2026-03-19T12:00:00+00:00"
    asked += [report("reservation", buyer=f"B {number}", until=until) for number in range(70)]
    ended.send(*asked)
    # The round comes by in the middle of it.
    lapse_reservations(ended.worker)
    ended.drain_all(workers=4)
    outcomes = ended.outcomes()
    taken = [body for body in asked if outcomes[id_of(body)] == "recorded"]
    # Whom it is kept for may buy it, too; that is one buyer all the same.
    kept = ended.show().record
    promised = ended.one("SELECT coalesce(sum(outstanding), 0) FROM orders")
    assert promised + bool(kept["sale"]) + bool(kept["reservation"]) == 1
    assert len(taken) == 1
    assert is_sound(ended)
