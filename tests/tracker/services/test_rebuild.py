from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.support.depot import BOX, OTHER, Depot, marks_of, report
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify


@pytest.fixture
def filled(depot: Depot) -> Depot:
    """A depot with a unit that has a sale and a question, and one without."""
    depot.record(
        report("gate-in", masses={"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}),
        report("restow", slot="B2"),
        report("sale"),
        report("gate-in", OTHER),
    )
    return depot


def test_records_that_follow_from_their_histories_differ_nowhere(filled: Depot) -> None:
    found = rebuild(filled.worker, check_only=True)
    assert (found.units, found.differing) == (2, [])


CHANGES = {
    "body": "UPDATE records SET body = replace(body::text, 'B2', 'B3')::json WHERE unit_id = :unit",
    "slot only": "UPDATE records SET slot = 'B3' WHERE unit_id = :unit",
    "sold as free": "UPDATE records SET stands = 'free' WHERE unit_id = :unit",
    "gone": "DELETE FROM records WHERE unit_id = :unit",
    "question gone": "DELETE FROM questions WHERE unit_id = :unit",
    "question changed": "UPDATE questions SET body = replace(body::text, 'kg', 'lb')::json"
    " WHERE unit_id = :unit",
    "question added": "INSERT INTO questions SELECT gen_random_uuid(), unit_id, depot, finding,"
    " opened_at, body FROM questions WHERE unit_id = :unit LIMIT 1",
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_changed_record_is_found_by_check_and_mended_by_rebuild(filled: Depot, change: str) -> None:
    unit = filled.unit_id()
    before = filled.rows("SELECT *, body::text FROM records ORDER BY unit_id")
    asked = filled.rows("SELECT *, body::text FROM questions ORDER BY id")
    assert filled.change(change, unit=unit) == 1
    for _ in range(2):
        assert rebuild(filled.worker, check_only=True).differing == [unit]
    assert rebuild(filled.worker, check_only=False).differing == [unit]
    assert rebuild(filled.worker, check_only=True).differing == []
    assert filled.rows("SELECT *, body::text FROM records ORDER BY unit_id") == before
    assert filled.rows("SELECT *, body::text FROM questions ORDER BY id") == asked


def test_record_without_a_history_is_found_and_removed(filled: Depot) -> None:
    filled.change(
        "INSERT INTO records SELECT (jsonb_populate_record("
        "records, jsonb_build_object('unit_id', gen_random_uuid()))).* FROM records"
        " WHERE mark = :mark",
        mark=OTHER,
    )
    (phantom,) = rebuild(filled.worker, check_only=True).differing
    assert rebuild(filled.worker, check_only=False).differing == [phantom]
    assert filled.one("SELECT count(*) FROM records") == 2
    assert rebuild(filled.worker, check_only=True).differing == []


def test_records_lost_altogether_are_all_made_again(depot: Depot) -> None:
    depot.record(*(report("gate-in", mark) for mark in marks_of(30)))
    before = depot.rows("SELECT *, body::text FROM records ORDER BY unit_id")
    depot.change("DELETE FROM records")
    assert len(rebuild(depot.worker, check_only=False).differing) == 30
    assert depot.rows("SELECT *, body::text FROM records ORDER BY unit_id") == before


def test_rebuild_beside_drains_changes_nothing_and_loses_nothing(depot: Depot) -> None:
    depot.record(report("gate-in"), report("gate-in", OTHER))
    small = depot.with_settings(drain_batch=5)
    small.send(*(report("restow", mark) for _ in range(60) for mark in (BOX, OTHER)))
    with ThreadPoolExecutor(2) as pool:
        draining = pool.submit(small.drain_all)
        found = [rebuild(depot.worker, check_only=False).differing for _ in range(5)]
        draining.result()
    assert found == [[]] * 5
    assert depot.one("SELECT count(*) FROM history") == 122
    assert verify(depot.web).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []
