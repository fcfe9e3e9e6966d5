from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import orjson
import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, marks_of, report
from tracker.services.daily_round import RoundReport, make_rounds
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

PLATE = {"next_examination": "2026-06"}
"""Read strictly, valid to 31 May 2026: 90 days after the day on which the clock stands."""


@pytest.fixture
def house(depot: Depot) -> Depot:
    """A depot NORTH in UTC with one box whose examination comes due."""
    depot.open_depot("NORTH")
    depot.record(report("gate-in", plate=PLATE, purpose="storage-for-others"))
    return depot


def walk(depot: Depot, first: date, last: date, *, step: int = 1) -> dict[date, list[RoundReport]]:
    """Make the round on every day between; return those that reminded of something."""
    days = (first + timedelta(days=ahead) for ahead in range(0, (last - first).days + 1, step))
    made = {day: make_rounds(depot.worker, on=day) for day in days}
    return {day: reports for day, reports in made.items() if any(one.reminded for one in reports)}


def letters(depot: Depot) -> list[dict[str, object]]:
    """Return what stands in the outbox."""
    return depot.rows("SELECT depot, role, subject, body FROM outbox ORDER BY subject")


def test_examination_is_told_90_30_and_7_days_ahead_then_weekly_once_each(house: Depot) -> None:
    told = walk(house, date(2026, 2, 27), date(2026, 6, 16))
    assert list(told) == [
        date(2026, 3, 2),
        date(2026, 5, 1),
        date(2026, 5, 24),
        date(2026, 6, 1),
        date(2026, 6, 8),
        date(2026, 6, 15),
    ]
    assert [report_.letters for reports in told.values() for report_ in reports] == [1] * 6
    assert {letter["role"] for letter in letters(house)} == {"manager"}
    assert letters(house)[0]["subject"] == "NORTH, 2026-03-02: examinations due 1"
    (line,) = letters(house)[0]["body"]["lines"]
    assert (line["mark"], line["on"]) == (BOX, "2026-05-31")
    assert house.one("SELECT count(*) FROM alerts") == 1


def test_other_days_ahead_are_taken_from_the_settings(house: Depot) -> None:
    told = walk(house.with_settings(alert_days=(60,)), date(2026, 3, 1), date(2026, 6, 2))
    assert list(told) == [date(2026, 4, 1), date(2026, 6, 1)]


def test_lenient_reading_is_due_at_the_end_of_the_month(house: Depot) -> None:
    lenient = house.with_settings(examination_reading="lenient", alert_days=(7,))
    told = walk(lenient, date(2026, 5, 20), date(2026, 7, 1))
    assert list(told) == [date(2026, 6, 23), date(2026, 7, 1)]


def test_missed_days_are_made_up_by_one_reminder(house: Depot) -> None:
    assert len(walk(house, date(2026, 3, 2), date(2026, 3, 2))) == 1
    assert list(walk(house, date(2026, 5, 26), date(2026, 5, 30))) == [date(2026, 5, 26)]
    assert len(letters(house)) == 2


def test_round_of_a_day_is_made_once_however_often_and_by_however_many(house: Depot) -> None:
    with ThreadPoolExecutor(4) as pool:
        rounds = list(pool.map(lambda _: make_rounds(house.worker), range(8)))
    made = [one for some in rounds for one in some]
    assert [(one.depot, one.day, one.letters) for one in made] == [("NORTH", date(2026, 3, 2), 1)]
    assert len(letters(house)) == 1
    assert make_rounds(house.worker, on=date(2026, 3, 1)) != []
    assert len(letters(house)) == 1


def test_days_are_the_depots_own_on_both_sides_of_midnight(
    depot: Depot, clock: StandingClock
) -> None:
    depot.open_depot("EAST", "Pacific/Auckland")
    depot.open_depot("WEST", "America/Los_Angeles")
    for code, mark in (("EAST", BOX), ("WEST", OTHER)):
        depot.record(report("gate-in", mark, depot=code, plate=PLATE, purpose="storage-for-others"))
    clock.set(datetime(2026, 3, 2, 7, 59, tzinfo=UTC))
    before = {one.depot: (one.day, one.reminded) for one in make_rounds(depot.worker)}
    assert before == {"EAST": (date(2026, 3, 2), 1), "WEST": (date(2026, 3, 1), 0)}
    assert make_rounds(depot.worker) == []
    clock.set(datetime(2026, 3, 2, 8, 0, tzinfo=UTC))
    after = {one.depot: (one.day, one.reminded) for one in make_rounds(depot.worker)}
    assert after == {"WEST": (date(2026, 3, 2), 1)}


def test_depot_with_stock_that_nobody_set_up_has_its_round_in_utc(depot: Depot) -> None:
    depot.record(report("gate-in", depot="FIELD-2", plate=PLATE, purpose="storage-for-others"))
    (made,) = make_rounds(depot.worker)
    assert (made.depot, made.day, made.reminded) == ("FIELD-2", date(2026, 3, 2), 1)


def test_alert_clears_and_reminders_stop_when_the_cause_goes(house: Depot) -> None:
    make_rounds(house.worker)
    assert [one["kind"] for one in house.show().record["alerts"]] == ["examination-due"]
    passed = {"passed": True, "by": "An inspector", "next_examination": "2028-08"}
    house.record(report("examination", **passed))
    assert house.show().record["alerts"] == []
    assert walk(house, date(2026, 5, 1), date(2026, 6, 16), step=5) == {}
    assert len(letters(house)) == 1


def test_cause_that_comes_back_is_told_from_the_beginning(house: Depot) -> None:
    make_rounds(house.worker)
    gone = report("gate-out", purpose="outside-repair")
    house.record(gone)
    assert house.one("SELECT cleared_at IS NOT NULL FROM alerts")
    assert walk(house, date(2026, 3, 3), date(2026, 3, 4)) == {}
    house.record(
        report("gate-in", happened_at="2026-03-02T07:30:00+00:00", purpose="storage-for-others")
    )
    assert list(walk(house, date(2026, 3, 5), date(2026, 3, 8))) == [date(2026, 3, 5)]


def test_box_sent_to_another_depot_is_told_there_and_no_more_here(house: Depot) -> None:
    house.open_depot("SOUTH")
    make_rounds(house.worker)
    house.record(report("gate-out", purpose="transfer", to_depot="SOUTH"))
    assert [one["kind"] for one in house.show().record["alerts"]] == ["examination-due"]
    assert walk(house, date(2026, 3, 3), date(2026, 3, 4)) == {}
    told = walk(house, date(2026, 5, 1), date(2026, 5, 1))
    reminded = {one.depot: one.reminded for one in told[date(2026, 5, 1)]}
    assert reminded == {"NORTH": 0, "SOUTH": 2}  # on its way, it has not arrived either


@pytest.mark.parametrize("how", ["gone", "programme"])
def test_box_that_owes_no_examination_is_not_told(house: Depot, how: str) -> None:
    events = {
        "gone": report("gate-out", purpose="scrap"),
        "programme": report(
            "examination", passed=True, by="The owner", programme="ACEP-ZZ-2020-01"
        ),
    }
    (done,) = house.record(events[how])
    assert done.state == "recorded"
    assert walk(house, date(2026, 3, 2), date(2026, 6, 16), step=15) == {}


def test_repair_and_work_overdue_go_to_the_workshop_and_not_before(depot: Depot) -> None:
    damage = {"component": "floor", "kind": "holed", "mend_by": "2026-03-01"}
    work = report("work-order", lines=[{"work": "lock-box", "count": 2}], due_on="2026-03-04")
    depot.record(report("gate-in"), report("inspection", damages=[damage]), work)
    told = walk(depot, date(2026, 2, 20), date(2026, 3, 10))
    assert list(told) == [date(2026, 3, 2), date(2026, 3, 5), date(2026, 3, 9)]
    assert {letter["role"] for letter in letters(depot)} == {"workshop"}
    assert letters(depot)[0]["subject"] == "NORTH, 2026-03-02: repairs overdue 1"
    assert "2 x lock-box" in letters(depot)[1]["body"]["lines"][0]["says"]
    depot.record(report("repair"))
    assert {one["kind"] for one in depot.show().record["alerts"]} == {"work-overdue"}


def test_root_of_all_histories_stands_in_the_managers_mail_and_with_the_round(
    house: Depot,
) -> None:
    (made,) = make_rounds(house.worker)
    assert made.root == verify(house.web).root
    (letter,) = letters(house)
    assert f"Root of all 1 histories as of {made.moment}: {made.root}" in letter["body"]["closing"]
    assert bytes(house.one("SELECT root FROM rounds")).hex() == made.root


def test_round_with_nothing_to_tell_writes_no_letter_and_keeps_the_root(depot: Depot) -> None:
    depot.record(report("gate-in"))
    (made,) = make_rounds(depot.worker)
    assert (made.raised, made.reminded, made.letters) == (0, 0, 0)
    assert letters(depot) == []
    assert bytes(depot.one("SELECT root FROM rounds")).hex() == made.root


def test_round_that_fails_half_way_is_made_by_the_next_tick(house: Depot) -> None:
    house.change("ALTER TABLE outbox ADD CONSTRAINT full_disk CHECK (false) NOT VALID")
    with pytest.raises(Exception, match="full_disk"):
        make_rounds(house.worker)
    assert house.rows("SELECT 1 FROM rounds") == []
    house.change("ALTER TABLE outbox DROP CONSTRAINT full_disk")
    assert [one.letters for one in make_rounds(house.worker)] == [1]


def test_depot_whose_round_fails_keeps_no_other_from_its_own(house: Depot) -> None:
    house.open_depot("SOUTH")
    house.change("ALTER TABLE outbox ADD CONSTRAINT north_is_broken CHECK (depot <> 'NORTH')")
    with pytest.raises(Exception, match="north_is_broken"):
        make_rounds(house.worker)
    assert house.rows("SELECT depot FROM rounds") == [{"depot": "SOUTH"}]
    house.change("ALTER TABLE outbox DROP CONSTRAINT north_is_broken")
    assert [one.depot for one in make_rounds(house.worker)] == ["NORTH"]


def test_many_boxes_due_are_one_letter_in_order_of_their_day(depot: Depot) -> None:
    fleet = marks_of(30)
    months = [f"2026-0{4 + number % 3}" for number in range(30)]
    arrivals = [
        report("gate-in", mark, plate={"next_examination": month}, purpose="storage-for-others")
        for mark, month in zip(fleet, months, strict=True)
    ]
    depot.record(*arrivals)
    (made,) = make_rounds(depot.worker)
    assert (made.raised, made.reminded, made.letters) == (30, 30, 1)
    lines = letters(depot)[0]["body"]["lines"]
    assert sorted(line["mark"] for line in lines) == sorted(fleet)
    assert [line["on"] for line in lines] == sorted(line["on"] for line in lines)


def test_breach_is_told_where_it_happened_not_where_the_box_is_sent(house: Depot) -> None:
    house.open_depot("SOUTH")
    later = "2026-03-02T08:10:00+00:00"
    house.record(
        report("hold", hold="do-not-lift", reason="cracked corner"),
        report("gate-out", purpose="transfer", to_depot="SOUTH", happened_at=later),
    )
    assert house.show().record["depot"] == "SOUTH"
    (breach,) = letters(house)
    assert (breach["depot"], breach["role"]) == ("NORTH", "on duty, manager")
    assert house.rows("SELECT depot FROM alerts WHERE kind = 'breach'") == [{"depot": "NORTH"}]
    house.record(report("sighting", depot="SOUTH", happened_at="2026-03-02T08:12:00+00:00"))
    assert house.rows("SELECT depot FROM alerts WHERE kind = 'breach'") == [{"depot": "NORTH"}]
    told = [one["subject"] for one in letters(house)]
    assert told.count(breach["subject"]) == 1
    assert told[1:] == ["Question: ZZZU3000014"]  # seen there, and nobody saw it arrive


def test_record_that_breaks_is_counted_and_stops_no_other(house: Depot) -> None:
    house.record(report("gate-in", OTHER, plate=PLATE, purpose="storage-for-others"))
    broken = 'UPDATE records SET body = \'{"no": "record"}\' WHERE mark = :mark'
    assert house.change(broken, mark=BOX) == 1
    (made,) = make_rounds(house.worker)
    assert (made.broken, made.raised, made.reminded) == (1, 1, 1)
    (letter,) = letters(house)
    assert [line["mark"] for line in letter["body"]["lines"]] == [OTHER]


def test_due_day_that_changes_is_told_anew_for_its_new_day(depot: Depot) -> None:
    depot.open_depot("NORTH")
    order = report("work-order", lines=[{"work": "lock-box"}], due_on="2026-03-01")
    depot.record(report("gate-in"), order)
    assert list(walk(depot, date(2026, 3, 2), date(2026, 3, 5))) == [date(2026, 3, 2)]
    changed = report(
        "correction", None, corrects=orjson.loads(order)["id"], changes={"due_on": "2026-03-06"}
    )
    assert [one.state for one in depot.record(changed)] == ["recorded"]
    assert depot.show().record["alerts"] == []
    assert list(walk(depot, date(2026, 3, 6), date(2026, 3, 8))) == [date(2026, 3, 7)]
    assert "2026-03-06" in depot.one("SELECT says FROM alerts WHERE cleared_at IS NULL")


def test_proof_of_export_is_missed_where_it_left_until_it_is_told(depot: Depot) -> None:
    depot.open_depot("NORTH")
    sale = report("sale", intended_use="export")
    gone = report("gate-out", purpose="sale", happened_at="2026-03-02T08:05:00+00:00")
    depot.record(report("gate-in"), sale, gone)
    depot.change("DELETE FROM outbox")
    told = walk(depot, date(2026, 3, 3), date(2026, 4, 3))
    assert list(told) == [date(2026, 4, 2)]
    assert [letter["role"] for letter in letters(depot)] == ["sales"]
    late = {"happened_at": "2026-03-02T08:10:00+00:00", "outcome": "delivered"}
    depot.record(report("delivery", **late))
    assert "proof-of-export" in [one["kind"] for one in depot.show().record["alerts"]]
    depot.record(report("delivery", proof_of_export="EX 7", **late))
    assert "proof-of-export" not in [one["kind"] for one in depot.show().record["alerts"]]


def test_marking_to_repaint_is_told_since_the_work_and_goes_when_painted(depot: Depot) -> None:
    depot.open_depot("NORTH")
    masses = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
    fitted = report("modification", fittings=[{"work": "lock-box", "mass_kg": 12}])
    depot.record(report("gate-in", masses=masses), fitted)
    assert list(walk(depot, date(2026, 3, 2), date(2026, 3, 8))) == [date(2026, 3, 6)]
    painted = {"gross_kg": 30480, "tare_kg": 2242, "payload_kg": 28238}
    depot.record(report("marking", action="repainted", masses=painted))
    record = depot.show().record
    assert (record["repaint"], record["repaint_since"], record["alerts"]) == ([], None, [])


def test_unit_that_owes_nothing_yet_is_not_looked_at(house: Depot) -> None:
    days = house.rows("SELECT owes_on FROM records")
    assert days == [{"owes_on": date(2026, 3, 2)}]
    (made,) = make_rounds(house.worker, on=date(2026, 2, 28))
    assert made.raised == 0


def test_who_is_told_earlier_by_the_settings_is_looked_at_earlier(house: Depot) -> None:
    early = house.with_settings(alert_days=(200,))
    assert list(walk(early, date(2025, 11, 10), date(2025, 11, 14))) == [date(2025, 11, 12)]


def test_rebuilding_finds_every_record_as_it_was_written(house: Depot) -> None:
    house.record(report("sighting", check="N-1", slot="C3"))
    assert rebuild(house.worker, check_only=True).differing == []
    house.change("UPDATE records SET owes_on = '0001-01-01'")
    assert len(rebuild(house.worker, check_only=True).differing) == 1
    rebuild(house.worker, check_only=False)
    assert house.one("SELECT owes_on FROM records") == date(2026, 3, 2)
