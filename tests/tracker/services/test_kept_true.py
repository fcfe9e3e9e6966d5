"""What is kept beside the records stays true: the depot of a question, the last move, a tag."""

from __future__ import annotations

from uuid import UUID

from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, report
from tracker.services.rebuild import rebuild
from tracker.store import receipts

BROKEN = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 20000}


def depots_asked(depot: Depot) -> list[str]:
    return [row["depot"] for row in depot.rows("SELECT DISTINCT depot FROM questions")]


def test_open_question_goes_along_to_the_next_depot_and_rebuilding_sees_when_not(
    depot: Depot,
) -> None:
    depot.record(report("gate-in", masses=BROKEN))
    assert depots_asked(depot) == ["NORTH"]
    moved = report("gate-out", purpose="transfer", to_depot="SOUTH")
    depot.record(moved)
    assert depots_asked(depot) == ["SOUTH"]
    assert rebuild(depot.worker, check_only=True).differing == []
    depot.change("UPDATE questions SET depot = 'NORTH'")
    assert rebuild(depot.worker, check_only=True).differing == [depot.unit_id()]
    rebuild(depot.worker, check_only=False)
    assert depots_asked(depot) == ["SOUTH"]


def test_event_moved_twice_stands_where_it_was_moved_last(depot: Depot) -> None:
    arrived = report("gate-in", BOX)
    # Its second unit has the longer history, so that numbers within it say nothing of the order.
    depot.record(arrived, report("gate-in", THIRD))
    depot.record(*(report("restow", BOX) for _ in range(9)))
    for mark in (OTHER, THIRD):
        changes = {"corrects": id_of(arrived), "withdrawn": False, "changes": {"mark": mark}}
        (receipt,) = depot.record(report("correction", None, **changes))
        assert receipt.state == "recorded"
    with depot.worker.engine.begin() as connection:
        event = UUID(id_of(arrived))
        assert receipts.streams_of(connection, [event]) == {event: depot.unit_id(THIRD)}


def test_tag_of_a_box_that_left_means_the_next_one_that_comes_in_with_it(depot: Depot) -> None:
    early = {"happened_at": "2026-03-02T06:00:00+00:00"}
    depot.record(report("gate-in", BOX, tag="7", **early))
    out = {"happened_at": "2026-03-02T06:30:00+00:00", "purpose": "scrap"}
    depot.record(report("gate-out", BOX, tag="7", **out))
    depot.record(report("gate-in", None, tag="7"), report("restow", None, tag="7"))
    assert [row["kind"] for row in depot.show("#NORTH/7").history] == ["gate-in", "restow"]
    assert [row["kind"] for row in depot.show(BOX).history] == ["gate-in", "gate-out"]
    assert rebuild(depot.worker, check_only=True).differing == []
