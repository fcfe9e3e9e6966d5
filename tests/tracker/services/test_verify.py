from uuid import UUID

import pytest

from tests.support.depot import BOX, OTHER, Depot, report
from tracker.services.verify import Flaw, verify
from tracker.store import history


@pytest.fixture
def filled(depot: Depot) -> Depot:
    """A depot with five rows of one unit and two of another."""
    depot.record(report("gate-in"), *(report("restow", slot=f"A{turn}") for turn in range(4)))
    depot.record(report("gate-in", OTHER), report("restow", OTHER))
    return depot


def event_of(depot: Depot, seq: int, mark: str = BOX) -> UUID:
    """Return the event of a row."""
    query = "SELECT event_id FROM history WHERE stream_id = :unit AND seq = :seq"
    found: UUID = depot.one(query, unit=depot.unit_id(mark), seq=seq)
    return found


def flaws(depot: Depot) -> list[Flaw]:
    """Return what verifying finds; all of it must be about the unit that was tampered with."""
    found = verify(depot.web).flaws
    assert {flaw.stream_id for flaw in found} <= {depot.unit_id()}
    return list(found)


def test_untouched_histories_are_sound_and_counted(filled: Depot) -> None:
    found = verify(filled.web)
    assert (found.streams, found.rows, found.flaws) == (2, 7, ())
    with filled.web.engine.begin() as connection:
        assert history.root(connection)[0].hex() == found.root


def test_verify_of_nothing_is_sound(depot: Depot) -> None:
    assert verify(depot.web).flaws == ()


ROW_CHANGES = {
    "body": "body = replace(body::text, 'A1', 'A9')::json",
    "kind": "kind = 'sighting'",
    "moment": "effective_at = effective_at + interval '1 microsecond'",
    "recorded": "recorded_at = recorded_at - interval '1 microsecond'",
    "event": "event_id = gen_random_uuid()",
    "spacing of the body": "body = (body::text || ' ')::json",
    "digest": "digest = sha256(digest)",
}


@pytest.mark.parametrize("change", ROW_CHANGES.values(), ids=ROW_CHANGES)
def test_row_changed_behind_its_back_is_named(filled: Depot, change: str) -> None:
    statement = "UPDATE history SET {} WHERE stream_id = :unit AND seq = 3"
    filled.tamper(statement.format(change), unit=filled.unit_id())
    found = flaws(filled)
    assert (found[0].seq, found[0].event_id) == (3, event_of(filled, 3))
    assert found[0].says == "its content was changed"


def test_changed_row_whose_digest_was_made_anew_shows_in_the_next_one(filled: Depot) -> None:
    unit = filled.unit_id()
    with filled.web.engine.begin() as connection:
        rows = history.load(connection, [unit])[unit]
    forged = rows[2]
    body = forged.body.replace('"A1"', '"A9"')
    assert body != forged.body
    made_anew = forged.as_line()._replace(body=body)
    filled.tamper(
        "UPDATE history SET body = CAST(:body AS json), digest = :digest"
        " WHERE stream_id = :unit AND seq = 3",
        body=body,
        digest=history.chain(rows[1].digest, made_anew),
        unit=unit,
    )
    assert [(flaw.seq, flaw.says) for flaw in flaws(filled)] == [(4, "its content was changed")]


def test_last_row_forged_with_its_digest_is_not_the_one_its_head_names(filled: Depot) -> None:
    unit = filled.unit_id()
    with filled.web.engine.begin() as connection:
        rows = history.load(connection, [unit])[unit]
    last = rows[-1]
    body = last.body.replace('"A3"', '"A9"')
    made_anew = last.as_line()._replace(body=body)
    filled.tamper(
        "UPDATE history SET body = CAST(:body AS json), digest = :digest"
        " WHERE stream_id = :unit AND seq = 5",
        body=body,
        digest=history.chain(rows[3].digest, made_anew),
        unit=unit,
    )
    (found,) = flaws(filled)
    assert (found.seq, found.says) == (5, "its last row is not the one its head names")


def test_removed_row_is_named(filled: Depot) -> None:
    filled.tamper("DELETE FROM history WHERE stream_id = :unit AND seq = 2", unit=filled.unit_id())
    assert [(flaw.seq, flaw.says) for flaw in flaws(filled)] == [(3, "row 2 is missing")]


def test_removed_first_row_is_named(filled: Depot) -> None:
    filled.tamper("DELETE FROM history WHERE stream_id = :unit AND seq = 1", unit=filled.unit_id())
    assert [(flaw.seq, flaw.says) for flaw in flaws(filled)] == [(2, "row 1 is missing")]


def test_cut_tail_is_named(filled: Depot) -> None:
    filled.tamper("DELETE FROM history WHERE stream_id = :unit AND seq > 3", unit=filled.unit_id())
    assert [(flaw.seq, flaw.says) for flaw in flaws(filled)] == [
        (3, "it ends at row 3, its head says 5")
    ]


def test_whole_history_removed_is_named(filled: Depot) -> None:
    filled.tamper("DELETE FROM history WHERE stream_id = :unit", unit=filled.unit_id())
    assert [(flaw.seq, flaw.says) for flaw in flaws(filled)] == [
        (0, "it ends at row 0, its head says 5")
    ]


def test_added_row_is_named(filled: Depot) -> None:
    filled.tamper(
        "INSERT INTO history SELECT stream_id, 6, gen_random_uuid(), kind, effective_at,"
        " recorded_at, body, digest FROM history WHERE stream_id = :unit AND seq = 5",
        unit=filled.unit_id(),
    )
    assert [flaw.seq for flaw in flaws(filled)] == [6, 6]


@pytest.mark.parametrize("rows_gone", ["seq < 1", "seq = 1", "seq < 4"])
def test_removed_head_is_named_with_whatever_rows_are_left(filled: Depot, rows_gone: str) -> None:
    filled.tamper(
        " ".join(("DELETE FROM history WHERE stream_id = :unit AND", rows_gone)),
        "DELETE FROM heads WHERE stream_id = :unit",
        unit=filled.unit_id(),
    )
    assert [flaw.says for flaw in flaws(filled)] == ["its head is gone"]


def test_swapped_rows_are_both_named(filled: Depot) -> None:
    swap = "UPDATE history SET seq = {} WHERE stream_id = :unit AND seq = {}"
    filled.tamper(swap.format(99, 2), swap.format(2, 3), swap.format(3, 99), unit=filled.unit_id())
    assert [flaw.seq for flaw in flaws(filled)][:2] == [2, 3]


def test_whole_history_exchanged_with_its_head_changes_the_root(filled: Depot) -> None:
    before = verify(filled.web).root
    filled.tamper(
        "DELETE FROM history WHERE stream_id = :unit",
        "DELETE FROM heads WHERE stream_id = :unit",
        unit=filled.unit_id(),
    )
    after = verify(filled.web)
    assert after.flaws == ()
    assert after.root != before


def test_verify_sees_one_moment_while_drains_go_on(depot: Depot) -> None:
    depot.record(report("gate-in"))
    with depot.web.engine.connect().execution_options(
        isolation_level="REPEATABLE READ"
    ) as connection:
        heads = list(history.every_head(connection))
        depot.record(report("restow"))
        rows = history.load(connection, [stream for stream, _ in heads])
    assert [len(rows[stream]) for stream, _ in heads] == [head.count for _, head in heads]


def test_every_history_is_walked_however_many_there_are(depot: Depot) -> None:
    marks = [f"TEST {number}" for number in range(1, 24)]
    depot.record(*(report("gate-in", mark) for mark in marks))
    with depot.web.engine.begin() as connection:
        walked = [stream for stream, _ in history.every_head(connection, size=5)]
    assert walked == sorted(walked)
    assert len(walked) == len(set(walked)) == 23
