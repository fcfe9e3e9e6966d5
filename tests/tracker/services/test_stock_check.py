"""Stock checks: what was found without arrival, not found, in the wrong slot; and the alerts."""

from datetime import date, timedelta

import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, THIRD, Depot, report
from tracker.services import stock_check
from tracker.services.daily_round import make_rounds
from tracker.services.sight import Sight
from tracker.services.stock_check import StockCheckTakenError, StockCheckUnknownError
from tracker.services.verify import verify

EARLY = "2026-03-02T06:00:00+00:00"
DURING = "2026-03-02T08:05:00+00:00"


@pytest.fixture
def yard(depot: Depot, clock: StandingClock) -> Depot:
    """A depot with two boxes in their slots and a check begun at 08:00."""
    depot.open_depot("NORTH")
    depot.open_depot("SOUTH")
    depot.record(
        report("gate-in", BOX, slot="A1", happened_at=EARLY),
        report("gate-in", OTHER, slot="B2", happened_at=EARLY),
    )
    stock_check.begin(depot.web, "NORTH", "Ada Quill", check_id="N-1")
    clock.move(timedelta(minutes=10))
    return depot


def see(depot: Depot, mark: str, slot: str | None = None, **others: object) -> None:
    said = {"check": "N-1", "happened_at": DURING, **others}
    (done,) = depot.record(report("sighting", mark, slot=slot, **said))
    assert done.state == "recorded"


def marks(found: tuple[stock_check.Found, ...]) -> list[str | None]:
    return sorted(one.mark or "" for one in found)


def test_before_anybody_looked_nothing_is_found(yard: Depot) -> None:
    found = stock_check.compare(yard.web, "N-1")
    assert (found.seen, marks(found.not_found)) == (0, sorted([BOX, OTHER]))
    assert (found.found_without_arrival, found.in_wrong_slot) == ((), ())


def test_box_in_its_slot_is_in_no_list(yard: Depot) -> None:
    see(yard, BOX, "A1")
    see(yard, OTHER)
    found = stock_check.compare(yard.web, "N-1")
    assert found.seen == 2
    assert (found.found_without_arrival, found.not_found, found.in_wrong_slot) == ((), (), ())


def test_box_in_another_slot_is_told_with_both_and_the_record_follows(yard: Depot) -> None:
    see(yard, BOX, "C3")
    (wrong,) = stock_check.compare(yard.web, "N-1").in_wrong_slot
    assert (wrong.mark, wrong.slot_before, wrong.slot) == (BOX, "A1", "C3")
    assert yard.show(BOX).record["slot"] == "C3"


def test_box_seen_twice_by_one_check_is_compared_with_what_stood_before_it(yard: Depot) -> None:
    see(yard, BOX, "C3")
    see(yard, BOX, "D4", happened_at="2026-03-02T08:06:00+00:00")
    (wrong,) = stock_check.compare(yard.web, "N-1").in_wrong_slot
    assert (wrong.slot_before, wrong.slot) == ("A1", "D4")


def test_box_moved_on_after_it_was_seen_is_still_told_as_the_check_saw_it(yard: Depot) -> None:
    see(yard, BOX, "C3")
    yard.record(report("restow", BOX, slot="E5", happened_at="2026-03-02T08:07:00+00:00"))
    (wrong,) = stock_check.compare(yard.web, "N-1").in_wrong_slot
    assert (wrong.slot_before, wrong.slot) == ("A1", "C3")


def test_box_that_never_came_in_is_found_without_arrival_and_asked_about(yard: Depot) -> None:
    see(yard, THIRD, "C3")
    (found,) = stock_check.compare(yard.web, "N-1").found_without_arrival
    assert (found.mark, found.slot, found.was) == (THIRD, "C3", "expected")
    asked = [one["finding"] for one in yard.show(THIRD).record["questions"]]
    assert asked == ["presence.seen-but-not-in"]


def test_box_of_another_depot_is_found_without_arrival_and_in_no_wrong_slot(yard: Depot) -> None:
    yard.record(report("gate-in", THIRD, depot="SOUTH", slot="S9", happened_at=EARLY))
    see(yard, THIRD, "C3")
    found = stock_check.compare(yard.web, "N-1")
    assert [one.was for one in found.found_without_arrival] == ["in SOUTH"]
    assert found.in_wrong_slot == ()


def test_whatever_is_reported_on_the_ground_meanwhile_counts_as_seen(yard: Depot) -> None:
    yard.record(report("inspection", BOX, happened_at=DURING))
    yard.record(report("gate-out", OTHER, purpose="transfer", happened_at=DURING))
    found = stock_check.compare(yard.web, "N-1")
    assert (found.seen, found.not_found) == (0, ())


def test_sighting_of_another_check_is_not_this_ones(yard: Depot) -> None:
    stock_check.begin(yard.web, "NORTH", "Ada Quill", check_id="N-2")
    see(yard, BOX, "C3", check="N-2")
    assert stock_check.compare(yard.web, "N-1").seen == 0
    assert stock_check.compare(yard.web, "N-2").seen == 1


def test_box_not_found_is_told_after_the_check_is_finished_once_and_goes_when_seen(
    yard: Depot,
) -> None:
    see(yard, BOX, "A1")
    assert [one.reminded for one in make_rounds(yard.worker, on=date(2026, 3, 3))] == [0, 0]
    stock_check.finish(yard.web, "N-1")
    made = make_rounds(yard.worker, on=date(2026, 3, 4))
    assert [(one.depot, one.raised, one.reminded) for one in made] == [
        ("NORTH", 1, 1),
        ("SOUTH", 0, 0),
    ]
    (alert,) = yard.show(OTHER).record["alerts"]
    assert (alert["kind"], alert["due_on"]) == ("not-seen", "2026-03-02")
    assert alert["says"] == (
        "The stock check begun on 2026-03-02 did not find it. It should stand in B2."
        " It was last seen on 2026-03-02."
    )
    assert [one.reminded for one in make_rounds(yard.worker, on=date(2026, 3, 5))] == [0, 0]
    see(yard, OTHER, "B2", check=None, happened_at="2026-03-02T08:09:00+00:00")
    assert yard.show(OTHER).record["alerts"] == []


def test_late_report_from_before_the_check_does_not_end_the_alert(yard: Depot) -> None:
    stock_check.finish(yard.web, "N-1")
    make_rounds(yard.worker)
    see(yard, OTHER, "B2", check=None, happened_at="2026-03-02T07:00:00+00:00")
    assert [one["kind"] for one in yard.show(OTHER).record["alerts"]] == ["not-seen"]
    yard.record(report("gate-out", OTHER, purpose="transfer", happened_at=DURING))
    assert yard.show(OTHER).record["alerts"] == []


def test_finishing_twice_keeps_the_first_moment(yard: Depot, clock: StandingClock) -> None:
    first = clock.now()
    stock_check.finish(yard.web, "N-1")
    clock.move(timedelta(hours=1))
    stock_check.finish(yard.web, "N-1")
    (check,) = stock_check.list_checks(yard.web)
    assert check.finished_at == first


def test_id_is_taken_once_and_made_where_none_is_given(yard: Depot) -> None:
    with pytest.raises(StockCheckTakenError):
        stock_check.begin(yard.web, "NORTH", "Tom Reed", check_id="N-1")
    made = stock_check.begin(yard.web, "NORTH", "Tom Reed")
    assert made.id not in ("", "N-1")
    assert [one.begun_by for one in stock_check.list_checks(yard.web)] == ["Tom Reed", "Ada Quill"]


def test_check_of_another_depot_is_as_if_it_were_not_there(yard: Depot) -> None:
    south = Sight(frozenset({"SOUTH"}))
    for ask in (stock_check.compare, stock_check.finish):
        with pytest.raises(StockCheckUnknownError):
            ask(yard.web, "N-1", sight=south)
    assert stock_check.list_checks(yard.web, sight=south) == []
    with pytest.raises(StockCheckUnknownError):
        stock_check.compare(yard.web, "N-9")


def test_histories_stay_sound_with_checks_in_them(yard: Depot) -> None:
    see(yard, BOX, "C3")
    assert verify(yard.web).flaws == ()
