"""What names another event waits in one lane with it, and is judged after it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, OTHER, Depot, id_of, lane_of, marks_of, report, states
from tracker.services.accept import accept
from tracker.services.drain import drain

if TYPE_CHECKING:
    from schemas.verdicts import Receipt

FILES = 4
"""The lane of files where there are four others."""

ANY_20 = {"length_ft": 20}


def order(**others: object) -> bytes:
    asked = {"buyer": "Ada Quill", "description": ANY_20, "count": 1, "paid": True}
    return report("order", None, **(asked | others))


def correction(of: bytes, **others: object) -> bytes:
    return report(
        "correction", None, corrects=id_of(of), **({"changes": {"slot": "B2-1"}} | others)
    )


def cancellation(of: bytes) -> bytes:
    return report("cancellation", None, cancels=id_of(of), reason="thought better of it")


def apart(make: Callable[[], bytes], lane: int | None = None) -> bytes:
    """Return an event whose id alone would bring what names it to another lane, a lower one."""
    other = lane_of(BOX) if lane is None else lane
    return next(body for body in iter(make, None) if lane_of(id_of(body)) != other)


def lanes(depot: Depot) -> dict[str, int]:
    return {str(row["event_id"]): row["lane"] for row in depot.rows("SELECT * FROM intake")}


def judge_against_the_order(depot: Depot, *sent: bytes) -> list[Receipt]:
    """Drain the lane of the last that was sent before any other; return what became of all."""
    last = lanes(depot)[id_of(sent[-1])]
    drain(depot.worker, last)
    depot.drain_all()
    return depot.send(*sent)


@pytest.mark.parametrize("in_one_list", [True, False])
def test_correction_sent_with_what_it_corrects_is_recorded(depot: Depot, in_one_list: bool) -> None:
    arrival = apart(lambda: report("gate-in", slot="A1-1"))
    put_right = correction(arrival)
    if in_one_list:
        depot.send(arrival, put_right)
    else:
        depot.send(arrival)
        depot.send(put_right)
    heard = judge_against_the_order(depot, arrival, put_right)
    assert states(heard) == ["recorded", "recorded"]
    assert depot.show().record["slot"] == "B2-1"


def test_batch_puts_right_what_it_has_just_recorded_and_moved(depot: Depot) -> None:
    arrival = report("gate-in", slot="A1-1")
    moved = correction(arrival, changes={"mark": OTHER})
    depot.send(arrival, correction(arrival), moved, correction(arrival, changes={"slot": "C1-1"}))
    done = drain(depot.worker, lane_of(BOX))
    assert (done.batches, done.recorded, done.refused) == (1, 4, 0)
    assert depot.show(OTHER).record["slot"] == "C1-1"


def test_correction_of_a_unit_without_a_mark_goes_with_its_tag(depot: Depot) -> None:
    tagged = apart(lambda: report("gate-in", None, tag="T-1"), lane_of("#NORTH/T-1"))
    depot.send(tagged, correction(tagged))
    assert set(lanes(depot).values()) == {lane_of("#NORTH/T-1")}
    depot.drain_all()
    last = correction(tagged, changes={"slot": "C3-1"})
    depot.send(last)
    assert lanes(depot) == {id_of(last): lane_of("#NORTH/T-1")}


def test_correction_of_a_correction_waits_behind_it(depot: Depot) -> None:
    arrival = apart(lambda: report("gate-in"))
    first = apart(lambda: correction(arrival))
    second = apart(lambda: correction(first))
    depot.send(arrival)
    depot.send(first)
    depot.send(second, correction(second))
    assert set(lanes(depot).values()) == {lane_of(BOX)}


def test_what_settles_waits_in_the_lane_of_its_unit_once_that_is_known(depot: Depot) -> None:
    """So a release that the open question holds is not judged before the answer to it."""
    wrong = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}
    arrival = apart(lambda: report("gate-in", masses=wrong))
    depot.record(arrival)
    question = str(depot.one("SELECT id FROM questions"))
    answer = report("answer", None, question=question, settlement="withdrawn")
    put_right = correction(arrival, changes={"masses": wrong | {"payload_kg": 28250}})
    depot.send(put_right, answer)
    assert lanes(depot) == {id_of(answer): lane_of(BOX), id_of(put_right): lane_of(BOX)}
    assert {one["id"] for one in depot.show().apart} == {id_of(answer), id_of(put_right)}
    depot.drain_all()
    again = correction(put_right)
    depot.send(again)
    assert lanes(depot) == {id_of(again): lane_of(BOX)}


def test_what_names_nothing_known_waits_by_the_id_that_it_names(depot: Depot) -> None:
    nothing = report("restow")
    lost = correction(nothing)
    depot.send(lost)
    assert lanes(depot) == {id_of(lost): lane_of(id_of(nothing))}
    depot.drain_all()
    assert states(depot.send(lost)) == ["refused"]


def test_cancellation_of_a_release_waits_behind_it_and_its_order(depot: Depot) -> None:
    depot.record(report("gate-in", size_type="22G1"))
    placed = order()
    lane = lane_of(id_of(placed))
    given = apart(lambda: report("release", None, order=id_of(placed), reference=None), lane)
    depot.send(placed, given)
    withdrawn = cancellation(given)
    depot.send(withdrawn)
    assert set(lanes(depot).values()) == {lane}
    heard = judge_against_the_order(depot, placed, given, withdrawn)
    assert states(heard)[:2] == ["recorded", "recorded"]
    late = cancellation(given)
    depot.send(late)
    assert lanes(depot) == {id_of(late): lane}


def test_unit_released_on_an_order_that_still_waits_goes_by_the_order(depot: Depot) -> None:
    depot.record(report("gate-in", size_type="22G1"))
    placed = apart(order)
    given = report("release", order=id_of(placed), reference="COLLECT-71")
    driver = report("clearance", reference="COLLECT-71")
    passed = report("passing-on", None, reference="COLLECT-71", collector="Bo Thorn")
    depot.send(placed, given, driver)
    assert states(judge_against_the_order(depot, placed, given, driver)) == ["recorded"] * 3
    depot.send(passed)
    assert lanes(depot) == {id_of(passed): lane_of(BOX)}
    later = report("release", order=id_of(placed), reference="COLLECT-72")
    depot.send(later)
    assert lanes(depot)[id_of(later)] == lane_of(BOX)


def test_reference_passed_on_in_the_list_that_gives_it_goes_by_its_release(depot: Depot) -> None:
    names = (f"COLLECT{number}" for number in range(20))
    reference = next(name for name in names if lane_of(f"@{name}") != lane_of(BOX))
    given = report("release", reference=reference)
    passed = report("passing-on", None, reference=reference, collector="Bo Thorn")
    depot.send(given, passed)
    assert set(lanes(depot).values()) == {lane_of(BOX)}


def test_correction_goes_with_the_file_only_while_what_it_corrects_waits_there(
    depot: Depot,
) -> None:
    old, here = report("gate-in"), apart(lambda: report("gate-in", marks_of(1)[0]))
    accept(depot.web, [old], bulk=True)
    by_hand = correction(old)
    depot.send(here, by_hand)
    in_file = correction(here)
    accept(depot.web, [in_file, correction(old)], bulk=True)
    told = lanes(depot)
    assert told[id_of(by_hand)] == FILES
    assert told[id_of(in_file)] == told[id_of(here)] == lane_of(marks_of(1)[0])
    depot.drain_all()
    assert states(depot.send(by_hand, in_file)) == ["recorded", "recorded"]
    late, from_file = correction(old), correction(old)
    depot.send(late)
    accept(depot.web, [from_file], bulk=True)
    assert lanes(depot) == {id_of(late): lane_of(BOX), id_of(from_file): FILES}


def test_event_sent_again_waits_where_it_was_and_its_correction_with_it(depot: Depot) -> None:
    old = report("gate-in")
    accept(depot.web, [old], bulk=True)
    put_right = correction(old)
    depot.send(old, put_right)
    assert set(lanes(depot).values()) == {FILES}
