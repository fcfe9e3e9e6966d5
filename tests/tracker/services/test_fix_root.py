"""A root is of an exact moment: all before is in it, nothing after, whatever goes on beside."""

import threading
from datetime import UTC, datetime, timedelta

import pytest

from shared.clock import StandingClock
from tests.support.depot import OTHER, Depot, marks_of, report
from tracker.services import drain as draining
from tracker.services.daily_round import make_rounds
from tracker.services.fix_root import fix_root
from tracker.services.verify import moment_of, verify
from tracker.store import roots


@pytest.fixture
def filled(depot: Depot) -> Depot:
    """A depot with three rows of one unit and one of another."""
    depot.record(report("gate-in"), report("restow"), report("restow", slot="B1"))
    depot.record(report("gate-in", OTHER))
    return depot


def test_root_is_that_of_all_histories_and_is_reckoned_again_for_ever(filled: Depot) -> None:
    fixed = fix_root(filled.worker)
    now = verify(filled.web, at=fixed.moment)
    assert now.root == now.root_at == fixed.root.hex()
    assert fixed.streams == 2
    filled.record(report("restow", slot="C1"), report("gate-in", marks_of(1, "HQXU")[0]))
    later = verify(filled.web, at=fixed.moment)
    assert later.root_at == fixed.root.hex()
    assert later.root != fixed.root.hex()


def test_what_is_recorded_after_a_root_is_recorded_later_though_the_clock_stands(
    filled: Depot, clock: StandingClock
) -> None:
    fixed = fix_root(filled.worker)
    assert fixed.moment == clock.now()
    filled.record(report("restow", slot="C1"))
    last = filled.one("SELECT max(recorded_at) FROM history")
    assert last == fixed.moment + timedelta(microseconds=1)
    assert filled.one("SELECT count(*) FROM history WHERE recorded_at <= :m", m=fixed.moment) == 4


def test_clock_that_is_behind_records_after_the_root_all_the_same(
    filled: Depot, clock: StandingClock
) -> None:
    fixed = fix_root(filled.worker)
    clock.set(fixed.moment - timedelta(minutes=3))
    filled.record(report("restow", slot="C1"))
    assert filled.one("SELECT max(recorded_at) FROM history") > fixed.moment
    assert verify(filled.web, at=fixed.moment).root_at == fixed.root.hex()


def test_rows_of_a_clock_that_ran_ahead_are_within_the_root(
    filled: Depot, clock: StandingClock
) -> None:
    right = clock.now()
    clock.move(timedelta(minutes=5))
    filled.record(report("restow", slot="C1"))
    clock.set(right)
    fixed = fix_root(filled.worker)
    assert fixed.moment == right + timedelta(minutes=5)
    assert fixed.root.hex() == verify(filled.web).root


def test_two_roots_at_one_moment_with_nothing_between_are_one(filled: Depot) -> None:
    first, second = fix_root(filled.worker), fix_root(filled.worker)
    assert first == second
    assert filled.one("SELECT count(*) FROM roots") == 1


def test_later_root_at_the_same_reading_of_the_clock_is_of_a_later_moment(filled: Depot) -> None:
    first = fix_root(filled.worker)
    filled.record(report("restow", slot="C1"))
    second = fix_root(filled.worker)
    assert second.moment > first.moment
    assert second.root != first.root
    for one in (first, second):
        assert verify(filled.web, at=one.moment).root_at == one.root.hex()


def test_root_waits_for_a_drain_that_is_recording_and_takes_its_rows_in(
    filled: Depot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A drain has chosen when it records and has not committed: no root may pass it by."""
    chosen, go_on = threading.Event(), threading.Event()
    judge = draining.Batch.judge

    def slowly(self: draining.Batch, claimed: object, stop_at: float) -> object:
        chosen.set()
        assert go_on.wait(30)
        return judge(self, claimed, stop_at)

    monkeypatch.setattr(draining.Batch, "judge", slowly)
    filled.send(report("restow", slot="C1"))
    drain = threading.Thread(target=filled.drain_all)
    drain.start()
    assert chosen.wait(30)
    fixed = []
    fixing = threading.Thread(target=lambda: fixed.append(fix_root(filled.worker)))
    fixing.start()
    filled.wait_until_blocked()
    assert fixed == []
    go_on.set()
    drain.join(30)
    fixing.join(30)
    (one,) = fixed
    assert filled.one("SELECT max(recorded_at) FROM history") <= one.moment
    assert one.root.hex() == verify(filled.web).root == verify(filled.web, at=one.moment).root_at


def test_drain_waits_while_a_moment_is_being_fixed_and_records_after_it(filled: Depot) -> None:
    moment = filled.worker.clock.now() + timedelta(seconds=5)
    filled.send(report("restow", slot="C1"))
    with filled.worker.engine.begin() as alone:
        roots.lock_recording(alone, 1000)
        drain = threading.Thread(target=filled.drain_all)
        drain.start()
        filled.wait_until_blocked()
        roots.begin(alone, moment)
    drain.join(30)
    assert filled.one("SELECT max(recorded_at) FROM history") == moment + timedelta(microseconds=1)


def test_roots_beside_busy_drains_can_all_be_proved(depot: Depot) -> None:
    fleet = marks_of(12)
    depot.send(*(report("gate-in", mark) for mark in fleet))
    busy = depot.with_settings(drain_batch=2)
    fixed = []
    working = threading.Thread(target=lambda: busy.drain_all(workers=2))
    working.start()
    while working.is_alive():
        fixed.append(fix_root(depot.worker))
        depot.send(*(report("restow", mark) for mark in fleet[:2])) if len(fixed) < 8 else None
    working.join(60)
    depot.drain_all()
    assert fixed
    for one in fixed:
        assert verify(depot.web, at=one.moment).root_at == one.root.hex()


def test_drains_hold_up_no_other_drain(filled: Depot) -> None:
    with filled.worker.engine.begin() as first, filled.worker.engine.begin() as second:
        for connection in (first, second):
            connection.exec_driver_sql("SET LOCAL lock_timeout = '500ms'")
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock_shared(1886547830)")


CHANGES = {
    "content": "UPDATE history SET body = replace(body::text, 'B1', 'B9')::json WHERE seq = 3",
    "removed row": "DELETE FROM history WHERE seq = 3",
    "moved in time": "UPDATE history SET recorded_at = '2027-01-01T00:00:00Z' WHERE seq = 3",
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_old_root_shows_what_was_changed_before_it(filled: Depot, change: str) -> None:
    fixed = fix_root(filled.worker)
    filled.tamper(change)
    assert verify(filled.web, at=fixed.moment).root_at != fixed.root.hex()


def test_history_exchanged_with_its_head_shows_in_the_old_root(filled: Depot) -> None:
    fixed = fix_root(filled.worker)
    unit = filled.unit_id()
    filled.tamper(
        "DELETE FROM history WHERE stream_id = :unit",
        "DELETE FROM heads WHERE stream_id = :unit",
        "DELETE FROM records WHERE unit_id = :unit",
        unit=unit,
    )
    found = verify(filled.web, at=fixed.moment)
    assert found.flaws == ()
    assert found.root_at != fixed.root.hex()


def test_history_slipped_in_before_an_old_root_shows_in_it(filled: Depot) -> None:
    fixed = fix_root(filled.worker)
    filled.record(report("gate-in", marks_of(1, "HQXU")[0]))
    filled.tamper("UPDATE history SET recorded_at = :m WHERE seq = 1", m=fixed.moment)
    assert verify(filled.web, at=fixed.moment).root_at != fixed.root.hex()


def test_proof_needs_nothing_that_the_rounds_kept(filled: Depot) -> None:
    fixed = fix_root(filled.worker)
    filled.change("DELETE FROM roots")
    filled.change("DELETE FROM rounds")
    assert verify(filled.web, at=fixed.moment).root_at == fixed.root.hex()
    assert moment_of(filled.web, fixed.root.hex()) is None


def test_moment_is_found_by_its_root(filled: Depot) -> None:
    fixed = fix_root(filled.worker)
    assert moment_of(filled.web, fixed.root.hex()) == fixed.moment
    assert moment_of(filled.web, "00" * 32) is None
    assert moment_of(filled.web, "no root") is None


def test_moment_before_everything_has_the_root_of_nothing(filled: Depot) -> None:
    empty = verify(filled.web, at=datetime(2020, 1, 1, tzinfo=UTC)).root_at
    assert empty == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_all_depots_of_one_tick_have_one_root(filled: Depot) -> None:
    filled.open_depot("SOUTH")
    made = make_rounds(filled.worker)
    assert len(made) == 2
    assert len({(one.root, one.moment) for one in made}) == 1
    kept = filled.rows("SELECT DISTINCT root, moment FROM rounds")
    assert [
        (bytes(row["root"]).hex(), row["moment"].isoformat(timespec="microseconds")) for row in kept
    ] == [(made[0].root, made[0].moment)]
