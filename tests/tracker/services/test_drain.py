import itertools
from concurrent.futures import ThreadPoolExecutor

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from shared.clock import StandingClock
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
)
from tests.support.marks import make_mark
from tracker.services.drain import drain
from tracker.services.let_go import let_go
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

SERVER_FAULTS = (OperationalError, psycopg.OperationalError)


def assert_sound(depot: Depot) -> None:
    assert verify(depot.web).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []


def test_drain_of_an_empty_lane_does_nothing(depot: Depot) -> None:
    report_ = drain(depot.worker, 0)
    assert (report_.recorded, report_.batches, report_.busy, report_.more) == (0, 0, False, False)


def test_drain_records_a_lane_and_leaves_the_others(depot: Depot) -> None:
    fleet = marks_of(20)
    depot.send(*(report("gate-in", mark) for mark in fleet))
    mine = [mark for mark in fleet if lane_of(mark) == 2]
    done = drain(depot.worker, 2)
    assert (done.recorded, done.refused, done.held) == (len(mine), 0, 0)
    assert len(done.event_ids) == len(mine)
    assert depot.one("SELECT count(*) FROM intake") == 20 - len(mine)
    assert depot.rows("SELECT 1 FROM lane_attempts") == []


def test_fact_and_refused_decision_leave_receipts_and_only_the_fact_a_row(depot: Depot) -> None:
    arrival, sale, again = report("gate-in"), report("sale"), report("sale")
    receipts = depot.record(arrival, sale, again)
    assert states(receipts) == ["recorded", "recorded", "refused"]
    assert findings_of(receipts[2]) == ["sale.already-sold"]
    assert receipts[2].verdict.unit == depot.unit_id()
    assert receipts[2].verdict.seq is None
    assert [row["kind"] for row in depot.show().history] == ["gate-in", "sale"]
    assert_sound(depot)


def test_verdicts_are_told_to_listeners_at_the_commit(depot: Depot) -> None:
    body = report("gate-in")
    with depot.owner.connect().execution_options(isolation_level="AUTOCOMMIT") as listener:
        listener.exec_driver_sql("LISTEN hardstand_verdicts")
        depot.record(body)
        driver = listener.connection.driver_connection
        said = [notice.payload for notice in driver.notifies(timeout=10, stop_after=1)]
    assert said == [id_of(body)]


def test_event_that_waits_again_after_its_verdict_is_dropped_not_recorded_twice(
    depot: Depot,
) -> None:
    body = report("gate-in")
    depot.send(body)
    (kept,) = depot.rows("SELECT event_id, subject, lane, digest, body::text FROM intake")
    depot.drain_all()
    depot.change(
        "INSERT INTO intake (event_id, subject, lane, digest, body)"
        " VALUES (:event_id, :subject, :lane, :digest, CAST(:body AS json))",
        **kept,
    )
    depot.drain_all()
    assert len(depot.show().history) == 1
    assert depot.outcomes() == {id_of(body): "recorded"}
    assert depot.one("SELECT count(*) FROM intake") == 0


def test_late_fact_takes_its_place_in_time_and_old_verdicts_stay(
    depot: Depot, clock: StandingClock
) -> None:
    def at(minute: int) -> str:
        return f"2026-03-02T07:{minute:02}:00+00:00"

    early = report("gate-in", happened_at=at(0))
    newer = report("restow", slot="B2-1", happened_at=at(40))
    depot.record(early, newer)
    before = clock.now()
    (told,) = depot.send(newer)
    clock.set(clock.now().replace(hour=9))
    (late,) = depot.record(report("restow", slot="A1-1", happened_at=at(20)))
    assert late.verdict.seq == 3
    assert depot.show().record["slot"] == "B2-1"
    assert depot.send(newer) == [told]
    then = clock.now().replace(hour=7, minute=30)
    assert depot.show(as_of=then).record["slot"] == "A1-1"
    assert depot.show(as_of=then, known_at=before).record["slot"] is None
    assert_sound(depot)


def test_two_drains_on_one_lane_the_second_finds_it_busy_and_nothing_is_left(
    depot: Depot,
) -> None:
    depot.record(report("gate-in"))
    depot.send(report("restow", slot="A1"))
    lane = lane_of(BOX)
    with ThreadPoolExecutor(1) as pool:
        with depot.owner.begin() as connection:
            connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
            first = pool.submit(drain, depot.worker, lane)
            depot.wait_until_blocked()
            depot.send(report("restow", slot="B2"))
            assert drain(depot.worker, lane).busy
        done = first.result()
    # The second one's order is gone, so the first must have seen what came meanwhile.
    assert (done.recorded, done.more) == (2, False)
    assert depot.show().record["slot"] == "B2"


class NotingAnnouncer:
    """Notes which lanes it is asked to announce, and which are begun."""

    def __init__(self) -> None:
        self.told: list[tuple[str, int]] = []

    def announce(self, lanes: list[int]) -> None:
        """Note the lanes."""
        self.told += [("announced", lane) for lane in lanes]

    def begin(self, lane: int) -> None:
        """Note the lane."""
        self.told.append(("begun", lane))


def test_drain_out_of_time_announces_its_lane_again(depot: Depot) -> None:
    announcer = NotingAnnouncer()
    hasty = depot.with_settings(drain_batch=2, drain_budget_ms=1)
    context = Depot(hasty.worker, hasty.worker, hasty.owner).with_announcer(announcer).web
    depot.send(*(report("restow") for _ in range(5)))
    lane = lane_of(BOX)
    done = drain(context, lane)
    rounds = 1
    assert done.more
    while done.more:
        done = drain(context, lane)
        rounds += 1
    assert announcer.told == [("begun", lane), ("announced", lane)] * (rounds - 1) + [
        ("begun", lane)
    ]
    assert len(depot.show().history) == 5


def test_batch_that_would_outlast_its_transaction_is_cut_and_loses_nothing(
    depot: Depot,
) -> None:
    """Each late fact folds the whole history of its unit: a list of them must hold up no lane."""
    hurried = depot.with_settings(idle_in_transaction_timeout_s=0.000_001, drain_budget_ms=60_000)
    seen = [report("gate-in", happened_at="2026-03-01T07:00:00+00:00")] + [
        report("sighting", slot=f"A{hour}", happened_at=f"2026-03-01T{hour}:00:00+00:00")
        for hour in range(20, 10, -1)
    ]
    hurried.send(*seen)
    report_of = drain(hurried.worker, lane_of(BOX))
    assert (report_of.recorded, report_of.batches, report_of.more) == (11, 11, False)
    assert set(depot.outcomes().values()) == {"recorded"}
    assert depot.one("SELECT count(*) FROM lane_attempts") == 0
    assert depot.one("SELECT count(*) FROM intake") == 0
    assert depot.show(BOX).record["slot"] == "A20"


def test_many_drains_side_by_side_on_all_lanes_record_each_event_once_in_order(
    depot: Depot,
) -> None:
    small = depot.with_settings(drain_batch=7, drain_budget_ms=20)
    fleet = marks_of(12)
    sent = [report("restow", mark, slot=f"A{turn}") for turn in range(15) for mark in fleet]
    for at in range(0, len(sent), 60):
        small.send(*sent[at : at + 60])
    small.drain_all(workers=4)
    assert depot.outcomes() == dict.fromkeys(map(id_of, sent), "recorded")
    for mark in fleet:
        slots = [row["event"]["slot"] for row in depot.show(mark).history]
        assert slots == [f"A{turn}" for turn in range(15)]
    assert_sound(depot)


def other_lane_mark(mark: str) -> str:
    """Return a mark that goes to another lane."""
    candidates = (make_mark(f"ZZZU{serial:06d}") for serial in range(310000, 310100))
    return next(other for other in candidates if lane_of(other) != lane_of(mark))


def test_two_marks_of_one_unit_in_two_lanes_extend_one_history(depot: Depot) -> None:
    new_mark = other_lane_mark(BOX)
    depot.record(report("gate-in"), report("marking", action="re-marked", new_mark=new_mark))
    assert depot.unit_id(new_mark) == depot.unit_id(BOX)
    small = depot.with_settings(drain_batch=5)
    sent = [report("restow", mark) for _ in range(40) for mark in (BOX, new_mark)]
    small.send(*sent)
    small.drain_all(workers=4)
    rows = depot.show(BOX).history
    assert [row["seq"] for row in rows] == list(range(1, 83))
    assert {row["id"] for row in rows} >= set(map(id_of, sent))
    assert_sound(depot)


def test_question_that_moves_meanwhile_to_another_unit_is_answered_there(depot: Depot) -> None:
    wrong = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}
    arrival = report("gate-in", masses=wrong)
    depot.record(arrival)
    question = str(depot.one("SELECT id FROM questions"))
    # Both are sent while the event stands with the first unit, and judged in two lanes.
    moved = report("correction", None, corrects=id_of(arrival), changes={"mark": OTHER})
    answered = report("answer", None, question=question, settlement="confirmed")
    put_right = report("correction", None, corrects=id_of(arrival), changes={"slot": "B2-1"})
    depot.send(moved)
    depot.send(answered)
    depot.send(put_right)
    lanes_of = enumerate(map(id_of, (moved, answered, put_right)))
    for lane, one in lanes_of:
        depot.change("UPDATE intake SET lane = :lane WHERE event_id = :one", lane=lane, one=one)
    with ThreadPoolExecutor(3) as pool:
        with depot.owner.begin() as connection:
            connection.execute(text("SELECT FROM heads FOR UPDATE"))
            running = []
            for lane in range(3):
                running.append(pool.submit(drain, depot.worker, lane))
                depot.wait_until_blocked(lane + 1)
        done = [one.result() for one in running]
    assert [(one.recorded, one.refused) for one in done] == [(1, 0)] * 3
    record = depot.show(OTHER).record
    assert (record["questions"], record["slot"]) == ([], "B2-1")
    assert_sound(depot)


def test_hundred_sales_of_one_unit_at_once_one_is_recorded(depot: Depot) -> None:
    new_mark = other_lane_mark(BOX)
    depot.record(report("gate-in"), report("marking", action="re-marked", new_mark=new_mark))
    sales = [
        report("sale", mark, buyer=f"Buyer {number}")
        for number, mark in zip(range(120), itertools.cycle([BOX, new_mark]), strict=False)
    ]
    with ThreadPoolExecutor(8) as pool:
        drains = [pool.submit(depot.drain_all) for _ in range(2)]
        list(pool.map(depot.send, sales))
        for done in drains:
            done.result()
    depot.drain_all(workers=4)
    receipts = depot.send(*sales)
    assert sorted(states(receipts)) == ["recorded"] + ["refused"] * 119
    refusals = {tuple(findings_of(one)) for one in receipts if one.state == "refused"}
    assert refusals == {("sale.already-sold",)}
    assert [row["kind"] for row in depot.show().history].count("sale") == 1
    assert_sound(depot)


def test_name_taken_meanwhile_in_another_lane_is_looked_up_again(depot: Depot) -> None:
    depot.record(report("gate-in", OTHER))
    known = depot.unit_id(OTHER)
    body = report("restow", BOX, tag="T-1")
    depot.send(body)
    with ThreadPoolExecutor(1) as pool:
        with depot.owner.begin() as connection:
            insert = text("INSERT INTO marks VALUES ('#NORTH/T-1', :unit)")
            connection.execute(insert, {"unit": known})
            running = pool.submit(drain, depot.worker, lane_of(BOX))
            depot.wait_until_blocked()
        done = running.result()
    assert (done.recorded, done.held) == (1, 0)
    assert [row["id"] for row in depot.show(OTHER).history][-1] == id_of(body)
    assert depot.rows("SELECT 1 FROM lane_attempts") == []
    assert_sound(depot)


def test_units_named_for_the_first_time_in_two_lanes_at_once_become_one(depot: Depot) -> None:
    new_mark = other_lane_mark(BOX)
    for turn in range(10):
        depot.send(
            *(
                report("restow", mark, tag=f"T-{turn}-{number}")
                for mark in (BOX, new_mark)
                for number in range(5)
            )
        )
        depot.drain_all(workers=2)
    assert set(depot.outcomes().values()) == {"recorded"}
    assert len(depot.outcomes()) == 100
    assert_sound(depot)


def test_fresh_names_claimed_by_two_lanes_in_other_orders_are_all_recorded(depot: Depot) -> None:
    twin = other_lane_mark(BOX)
    tags = [f"T-{number}" for number in range(30)]
    depot.send(*(report("restow", BOX, tag=tag) for tag in tags))
    depot.send(*(report("restow", twin, tag=tag) for tag in reversed(tags)))
    depot.drain_all(workers=2)
    assert list(depot.outcomes().values()) == ["recorded"] * 60
    assert_sound(depot)


POISONS = {
    "unknown kind": """{"kind": "gone", "id": "0196f7a0-0000-7000-8000-000000000001"}""",
    "no kind": "{}",
    "no object": "[1]",
    "half a character": r"""{"kind": "restow", "slot": "\ud800"}""",
    "a field too much": """{"kind": "restow", "surprise": 1}""",
    "a number too big": """{"kind": "restow", "slot": 1e999}""",
}


@pytest.mark.parametrize("poison", POISONS.values(), ids=POISONS)
def test_event_that_breaks_the_judge_is_held_and_the_others_go_on(
    depot: Depot, poison: str
) -> None:
    bad = report("restow", THIRD, slot="C1")
    others = [report("restow", mark) for mark in (BOX, THIRD, OTHER, THIRD)]
    one_lane = depot.with_settings(lanes=1)
    one_lane.send(*others[:2], bad, *others[2:])
    update = "UPDATE intake SET body = CAST(:body AS json) WHERE event_id = :id"
    assert depot.change(update, body=poison, id=id_of(bad)) == 1
    one_lane.drain_all()
    assert depot.outcomes() == dict.fromkeys(map(id_of, others), "recorded") | {id_of(bad): "held"}
    (row,) = depot.rows("SELECT event_id, state, error FROM intake")
    assert (str(row["event_id"]), row["state"]) == (id_of(bad), "held")
    assert row["error"]
    assert depot.rows("SELECT 1 FROM lane_attempts") == []
    assert states(depot.send(bad)) == ["held"]
    assert_sound(depot)


def test_held_event_let_go_after_its_cause_is_mended_is_recorded(depot: Depot) -> None:
    bad = report("restow", slot="C1")
    depot.send(bad)
    (kept,) = depot.rows("SELECT body::text FROM intake")
    depot.change("UPDATE intake SET body = '{}'")
    depot.drain_all()
    assert depot.outcomes() == {id_of(bad): "held"}
    let_go(depot.worker, depot.one("SELECT event_id FROM intake"))
    depot.drain_all()
    assert depot.outcomes() == {id_of(bad): "held"}
    depot.change("UPDATE intake SET body = CAST(:body AS json)", **kept)
    let_go(depot.worker, depot.one("SELECT event_id FROM intake"))
    assert depot.outcomes() == {}
    depot.drain_all()
    assert depot.outcomes() == {id_of(bad): "recorded"}
    assert depot.show().record["slot"] == "C1"


def test_more_poison_than_a_batch_is_tried_for_is_held_all_the_same(depot: Depot) -> None:
    bad = [report("restow") for _ in range(12)]
    good = report("restow")
    depot.send(*bad, good)
    depot.change(
        "UPDATE intake SET body = '{}' WHERE event_id <> CAST(:good AS uuid)", good=id_of(good)
    )
    depot.drain_all()
    assert depot.outcomes() == dict.fromkeys(map(id_of, bad), "held") | {id_of(good): "recorded"}


def test_value_that_the_database_refuses_is_held_alone(depot: Depot) -> None:
    bad = report("restow")
    others = [report("restow", mark, slot=f"A{turn}") for turn in range(4) for mark in (BOX, OTHER)]
    one_lane = depot.with_settings(lanes=1)
    one_lane.send(*others[:3], bad, *others[3:])
    depot.change(
        r"""UPDATE intake SET body = CAST(replace(body::text, 'Ada Quill', 'Ada\u0000') AS json)"""
        " WHERE event_id = CAST(:bad AS uuid)",
        bad=id_of(bad),
    )
    one_lane.drain_all()
    assert depot.outcomes() == dict.fromkeys(map(id_of, others), "recorded") | {id_of(bad): "held"}


def make_answer(depot: Depot, right_mark: str) -> bytes:
    """Record a misread arrival; return the answer that gives its events to the right unit."""
    wrong = BOX[:10] + str((int(BOX[10]) + 5) % 10)
    depot.record(report("gate-in", wrong), report("gate-in", right_mark))
    question = depot.one("SELECT id FROM questions WHERE finding LIKE 'mark.%'")
    return report("answer", None, question=str(question), right_mark=right_mark)


def test_server_fault_while_an_answer_is_carried_out_holds_nothing(depot: Depot) -> None:
    answer = make_answer(depot, BOX)
    depot.send(answer)
    (lane,) = depot.lanes_waiting()
    with depot.with_limits(lock_timeout=100) as hasty, depot.owner.begin() as connection:
        connection.execute(text("SELECT FROM marks FOR UPDATE"))
        with pytest.raises(SERVER_FAULTS):
            drain(hasty.worker, lane)
    assert depot.rows("SELECT state FROM intake") == [{"state": "waiting"}]
    depot.drain_all()
    assert depot.outcomes()[id_of(answer)] == "recorded"
    assert_sound(depot)


def test_server_faults_are_no_deaths_however_many(depot: Depot) -> None:
    depot.record(report("gate-in"))
    body = report("restow")
    depot.send(body)
    with depot.with_limits(lock_timeout=20) as hasty, depot.owner.begin() as connection:
        connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
        for _ in range(8):
            with pytest.raises(SERVER_FAULTS):
                drain(hasty.worker, lane_of(BOX))
    assert depot.rows("SELECT 1 FROM lane_attempts") == []
    depot.drain_all()
    assert depot.outcomes()[id_of(body)] == "recorded"


def test_connections_cut_in_mid_batch_leave_all_waiting_and_nothing_half_done(
    depot: Depot,
) -> None:
    depot.record(report("gate-in"))
    depot.send(*(report("restow") for _ in range(5)))
    with ThreadPoolExecutor(1) as pool:
        with depot.owner.begin() as connection:
            connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
            running = pool.submit(drain, depot.worker, lane_of(BOX))
            depot.wait_until_blocked()
            depot.cut_workers()
        with pytest.raises(SERVER_FAULTS):
            running.result()
    assert depot.one("SELECT count(*) FROM intake WHERE state = 'waiting'") == 5
    depot.drain_all()
    assert len(depot.show().history) == 6
    assert_sound(depot)


def leave_mark(depot: Depot, lane: int, deaths: int) -> None:
    """Leave the mark of a worker that died while it judged all that waits."""
    depot.change(
        "INSERT INTO lane_attempts SELECT :lane, min(position), max(position), :deaths FROM intake"
        " WHERE lane = :lane",
        lane=lane,
        deaths=deaths,
    )


@pytest.mark.parametrize(("deaths", "batches"), [(1, 1), (2, 4), (3, 40), (4, 40), (5, 40)])
def test_after_deaths_batches_get_smaller_until_the_suspects_are_through(
    depot: Depot, deaths: int, batches: int
) -> None:
    one_lane = depot.with_settings(lanes=1, drain_batch=100, drain_budget_ms=60_000)
    one_lane.send(*(report("restow", mark) for mark in marks_of(40)))
    leave_mark(depot, 0, deaths)
    one_lane.send(*(report("restow", mark) for mark in marks_of(40)))
    done = drain(one_lane.worker, 0)
    assert (done.recorded, done.held) == (80, 0)
    assert batches <= done.batches <= batches + 2
    assert depot.rows("SELECT 1 FROM lane_attempts") == []


def test_event_alone_at_six_deaths_is_held_and_the_others_go_on(depot: Depot) -> None:
    sent = [report("restow") for _ in range(5)]
    depot.send(*sent)
    leave_mark(depot, lane_of(BOX), 6)
    done = drain(depot.worker, lane_of(BOX))
    assert (done.recorded, done.held) == (4, 1)
    assert depot.outcomes() == dict.fromkeys(map(id_of, sent), "recorded") | {
        id_of(sent[0]): "held"
    }
    assert "died 6 times" in depot.one("SELECT error FROM intake")
    assert_sound(depot)


def test_record_that_cannot_be_read_stops_its_own_unit_only(depot: Depot) -> None:
    depot.record(report("gate-in"), report("gate-in", OTHER))
    depot.change("UPDATE records SET body = '{}' WHERE mark = :mark", mark=BOX)
    bad, good = report("restow"), report("restow", OTHER)
    one_lane = depot.with_settings(lanes=1)
    one_lane.send(bad, good)
    for _ in range(10):
        try:
            drain(one_lane.worker, 0)
        except (KeyError, ValueError):
            continue
    assert {one: depot.outcomes()[one] for one in map(id_of, (bad, good))} == {
        id_of(bad): "held",
        id_of(good): "recorded",
    }
    rebuild(depot.worker, check_only=False)
    let_go(depot.worker, depot.one("SELECT event_id FROM intake"))
    one_lane.drain_all()
    assert depot.outcomes()[id_of(bad)] == "recorded"
    assert_sound(depot)
