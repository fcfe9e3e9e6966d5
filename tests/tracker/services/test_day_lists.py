"""What a depot's day holds for its gate and its workshop."""

from datetime import timedelta

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, THIRD, Depot, report
from tracker.services import day_lists


def marks_in(day: day_lists.DayList) -> list[str]:
    return [unit["mark"] for unit in day.units]


def test_expected_units_come_by_day_and_those_without_a_day_last(depot: Depot) -> None:
    depot.open_depot("NORTH")
    depot.record(
        report("pre-advice", BOX),
        report("pre-advice", OTHER, expected_on="2026-03-09"),
        report("pre-advice", THIRD, expected_on="2026-03-02"),
        report("pre-advice", "HQXU3000106", depot="SOUTH"),
    )
    assert marks_in(day_lists.list_expected(depot.web, "NORTH")) == [THIRD, OTHER, BOX]
    depot.record(report("gate-in", THIRD))
    assert marks_in(day_lists.list_expected(depot.web, "NORTH")) == [OTHER, BOX]


def test_units_with_work_are_those_with_an_order_damage_paint_or_weighing(depot: Depot) -> None:
    depot.open_depot("NORTH")
    lines = [{"work": "lock-box"}]
    depot.record(report("gate-in", BOX), report("gate-in", OTHER), report("gate-in", THIRD))
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == []
    depot.record(
        report("inspection", BOX, damages=[{"component": "paint", "kind": "paint-failed"}]),
        report("work-order", THIRD, lines=lines, due_on="2026-03-04"),
        report("modification", OTHER, weighed_tare_kg=2240),
    )
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH"))[0] == THIRD
    assert set(marks_in(day_lists.list_with_work(depot.web, "NORTH"))) == {BOX, OTHER, THIRD}
    assert day_lists.list_with_work(depot.web, "SOUTH").units == ()


def test_what_is_due_first_stands_first_be_it_ordered_or_to_be_mended(depot: Depot) -> None:
    depot.open_depot("NORTH")
    dent = {"component": "door-panel", "kind": "dented", "mend_by": "2026-02-20"}
    depot.record(
        report("gate-in", BOX),
        report("work-order", BOX, lines=[{"work": "lock-box"}], due_on="2026-03-04"),
        report("gate-in", OTHER),
        report("inspection", OTHER, damages=[dent]),
        report("gate-in", THIRD),
        report("work-order", THIRD, lines=[{"work": "lock-box"}]),
    )
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == [OTHER, BOX, THIRD]


def test_unit_with_labels_is_work_until_they_are_off(depot: Depot) -> None:
    depot.record(report("gate-in", placards="UN 1090"))
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == [BOX]
    depot.record(
        report("marking", happened_at="2026-03-02T07:30:00+00:00", action="labels-removed")
    )
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == []


def test_former_owners_marks_are_work_once_the_unit_is_sold_for_storage(depot: Depot) -> None:
    bought = {"owner": "Northquay Boxes", "title_evidence": "sale note 2026-120"}
    bought |= {"previous_owner": "Farline Leasing", "title_passed_on": "2026-03-01"}
    depot.record(report("gate-in"), report("acquisition", **bought))
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == []
    depot.record(report("sale", intended_use="storage"))
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == [BOX]
    since = "2026-03-02T08:01:00+00:00"
    depot.record(report("marking", action="removed", happened_at=since))
    assert marks_in(day_lists.list_with_work(depot.web, "NORTH")) == []


def test_day_is_that_of_the_depot(depot: Depot, clock: StandingClock) -> None:
    depot.open_depot("NORTH", "Pacific/Kiritimati")
    clock.move(timedelta(hours=3))
    assert day_lists.day_at(depot.web, "NORTH").isoformat() == "2026-03-03"
    assert day_lists.day_at(depot.web, "SOUTH").isoformat() == "2026-03-02"
