"""Reservations lapse by an event of the round, once, and only those that have ended."""

from datetime import date, datetime, timedelta

import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, report
from tracker.services.daily_round import make_rounds
from tracker.services.lapse import lapse_reservations

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
