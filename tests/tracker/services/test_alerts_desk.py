"""Answering alerts: who may, what it stops, and for how long."""

from datetime import UTC, date, datetime, timedelta

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, Depot, report
from tracker.services import alerts_desk, listings
from tracker.services.actor import Grant, Machine, Person, Role, Scope
from tracker.services.alerts_desk import (
    AlertName,
    AlertNotYoursError,
    AlertUnknownError,
    PutOffError,
)
from tracker.services.daily_round import make_rounds
from tracker.services.forget import forget
from tracker.services.unit_view import UnitUnknownError

WORK = AlertName(BOX, "work-overdue")
DUE = date(2026, 3, 1)
LINES = [{"work": "lock-box"}]


@pytest.fixture
def house(depot: Depot) -> Depot:
    """A depot with one box whose work is late, told on 2 March."""
    depot.open_depot("NORTH")
    order = report("work-order", lines=LINES, due_on=DUE.isoformat())
    depot.record(report("gate-in"), order)
    assert [one.reminded for one in make_rounds(depot.worker)] == [1]
    return depot


def told_on(depot: Depot, first: date, last: date) -> list[date]:
    """Make the round on every day between; return the days on which something was told."""
    days = [first + timedelta(days=ahead) for ahead in range((last - first).days + 1)]
    return [day for day in days if any(one.reminded for one in make_rounds(depot.worker, on=day))]


def person(*roles: Role, depot: str = "NORTH") -> Person:
    return Person(new_id(), "tom", "Tom Reed", frozenset(Grant(depot, role) for role in roles))


def acknowledge(depot: Depot, name: AlertName = WORK, actor: Person | Machine | None = None) -> int:
    done = alerts_desk.acknowledge(
        depot.web, name, by="Tom Reed", reason="parts come Friday", actor=actor
    )
    return len(done)


def put_off(depot: Depot, until: date) -> None:
    alerts_desk.put_off(depot.web, WORK, until=until, by="Tom Reed", reason="rain", actor=None)


def test_without_an_answer_it_is_told_weekly_then_to_the_manager_and_never_again(
    house: Depot,
) -> None:
    days = told_on(house, date(2026, 3, 3), date(2026, 5, 30))
    assert days == [date(2026, 3, 9), date(2026, 3, 16), date(2026, 3, 23)]
    found = house.rows("SELECT role, body FROM outbox ORDER BY body->>'opening'")
    assert [row["role"] for row in found] == ["workshop", "workshop", "workshop", "manager"]
    last = [row["body"]["lines"][0]["says"].endswith("nobody has seen to it.") for row in found]
    assert last == [False, False, False, True]


def test_acknowledged_alert_stands_and_is_told_no_more(house: Depot) -> None:
    assert acknowledge(house) == 1
    assert told_on(house, date(2026, 3, 3), date(2026, 4, 30)) == []
    (standing,) = listings.open_alerts(house.web)
    assert (standing["answered_by"], standing["reason"]) == ("Tom Reed", "parts come Friday")
    assert standing["put_off_until"] is None


def test_put_off_is_told_on_that_day_and_goes_on_by_its_schedule(house: Depot) -> None:
    put_off(house, date(2026, 3, 18))
    days = told_on(house, date(2026, 3, 3), date(2026, 4, 30))
    assert days == [date(2026, 3, 18), date(2026, 3, 23)]
    assert listings.open_alerts(house.web)[0]["reason"] is None


def test_put_off_past_its_last_reminder_is_told_once_more_and_to_whose_it_is(house: Depot) -> None:
    told_on(house, date(2026, 3, 3), date(2026, 3, 24))
    put_off(house, date(2026, 4, 10))
    assert told_on(house, date(2026, 3, 25), date(2026, 5, 10)) == [date(2026, 4, 10)]
    query = "SELECT role FROM outbox WHERE subject LIKE 'NORTH, 2026-04-10%'"
    assert house.one(query) == "workshop"


def test_last_answer_counts(house: Depot) -> None:
    acknowledge(house)
    put_off(house, date(2026, 3, 20))
    assert told_on(house, date(2026, 3, 3), date(2026, 3, 21)) == [date(2026, 3, 20)]


@pytest.mark.parametrize("until", [date(2026, 3, 1), date(2026, 3, 2)])
def test_put_off_until_today_or_before_is_refused(house: Depot, until: date) -> None:
    with pytest.raises(PutOffError):
        put_off(house, until)
    assert house.rows("SELECT 1 FROM alert_answers") == []


def test_answer_goes_with_its_alert_and_a_cause_that_comes_back_is_told_anew(house: Depot) -> None:
    acknowledge(house)
    gone = report("gate-out", purpose="outside-repair")
    house.record(gone)
    assert house.rows("SELECT 1 FROM alert_answers") == []
    house.record(report("gate-in", happened_at="2026-03-02T07:30:00+00:00"))
    assert told_on(house, date(2026, 3, 3), date(2026, 3, 4)) == [date(2026, 3, 3)]


@pytest.mark.parametrize(
    ("actor", "may"),
    [
        (person(Role.WORKSHOP), True),
        (person(Role.MANAGER), True),
        (person(Role.MANAGER, depot="*"), True),
        (person(Role.SALES, Role.GATE), False),
    ],
)
def test_only_those_whose_it_is_and_managers_answer(
    house: Depot, actor: Person, *, may: bool
) -> None:
    if may:
        assert acknowledge(house, actor=actor) == 1
        return
    with pytest.raises(AlertNotYoursError):
        acknowledge(house, actor=actor)


def test_machine_answers_nothing(house: Depot) -> None:
    machine = Machine(new_id(), "scales", frozenset(Scope), frozenset({"*"}))
    with pytest.raises(AlertNotYoursError):
        acknowledge(house, actor=machine)


def test_alert_of_another_depot_is_as_if_it_were_not_there(house: Depot) -> None:
    with pytest.raises(AlertUnknownError):
        acknowledge(house, actor=person(Role.MANAGER, depot="SOUTH"))


@pytest.mark.parametrize(
    "name",
    [AlertName(BOX, "long-stay"), AlertName(BOX, "work-overdue", "another")],
)
def test_alert_that_does_not_stand_cannot_be_answered(house: Depot, name: AlertName) -> None:
    with pytest.raises(AlertUnknownError):
        acknowledge(house, name)


def test_unknown_unit_is_said(house: Depot) -> None:
    with pytest.raises(UnitUnknownError):
        acknowledge(house, AlertName("HQXU9999990", "work-overdue"))


def test_cause_names_one_of_several(house: Depot) -> None:
    other = report("work-order", lines=LINES, due_on="2026-02-20")
    house.record(other)
    make_rounds(house.worker, on=date(2026, 3, 3))
    causes = {row["cause"] for row in house.rows("SELECT cause FROM alerts")}
    assert len(causes) == 2
    assert acknowledge(house, AlertName(BOX, "work-overdue", causes.pop())) == 1
    assert acknowledge(house) == 2


def test_name_and_reason_are_forgotten_on_request(house: Depot) -> None:
    acknowledge(house)
    owner = type(house.worker)(house.owner, house.worker.settings, house.worker.clock)
    assert forget(owner, "parts come Friday")
    (row,) = house.rows("SELECT answered_by, reason FROM alert_answers")
    assert row == {"answered_by": "Tom Reed", "reason": "(forgotten)"}


def test_day_of_putting_off_is_the_depots_own(house: Depot) -> None:
    house.open_depot("NORTH", "Pacific/Auckland")
    house.worker.clock.set(datetime(2026, 3, 2, 12, tzinfo=UTC))
    with pytest.raises(PutOffError):
        put_off(house, date(2026, 3, 3))
    put_off(house, date(2026, 3, 4))
