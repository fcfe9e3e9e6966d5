"""From the oldest schema with data in it to the newest: nothing lost, and the record adds up."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import psycopg

from shared.addresses import libpq_address
from tests.support.depot import BOX, Depot, marks_of, report
from tracker.judge.fold import FOLD_VERSION
from tracker.services import day_lists, health
from tracker.services.rebuild import must_rebuild, rebuild
from tracker.services.verify import verify
from tracker.store import schema
from tracker.web.pages.work_cards import card_of

if TYPE_CHECKING:
    from shared.addresses import DatabaseAddresses

FIRST = "0001"
KEPT = (
    "intake",
    "receipts",
    "heads",
    "history",
    "marks",
    "outbox",
    "unreadable",
    "personal_values",
)


def rows(databases: DatabaseAddresses, table: str) -> list[dict[str, Any]]:
    with psycopg.connect(libpq_address(databases.owner)) as connection:
        # By column, since a newer schema may have more of them.
        query = f"SELECT to_jsonb(t) FROM {table} t"  # noqa: S608 - a name from above
        return sorted((row[0] for row in connection.execute(query)), key=repr)


def grown(after: list[dict[str, Any]], before: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rows of a newer schema with only the columns that they had before."""
    columns = before[0].keys() if before else ()
    cut = [{column: row[column] for column in columns} for row in after]
    return sorted(cut, key=repr)


def test_data_of_the_first_schema_come_through_to_the_newest(
    depot: Depot, db: DatabaseAddresses
) -> None:
    depot.open_depot("NORTH", manager="ada@depot.example")
    depot.record(*(report("gate-in", mark) for mark in marks_of(8)), report("gate-in"))
    depot.record(report("sale"), report("gate-out"), b"no event")
    depot.send(report("gate-in", "ZZZU3000034"))
    for engine in (depot.web.engine, depot.worker.engine, depot.owner):
        engine.dispose()
    schema.downgrade(db.owner, FIRST)
    before = {table: rows(db, table) for table in KEPT}
    assert all(before[table] for table in ("intake", "history", "outbox", "unreadable"))

    schema.upgrade(db.owner)

    schema.check(db.owner)
    for table in KEPT:
        assert grown(rows(db, table), before[table]) == before[table], table
    assert verify(depot.worker).flaws == ()
    rebuild(depot.worker, check_only=False)
    assert rebuild(depot.worker, check_only=True).differing == []
    depot.drain_all()
    assert depot.show(BOX).record["presence"] == "away"
    assert depot.show("ZZZU3000034").record["presence"] == "in-depot"


def test_units_with_labels_come_onto_the_workshops_list(
    depot: Depot, db: DatabaseAddresses
) -> None:
    depot.record(report("gate-in", placards="UN 1090"), report("gate-in", "ZZZU3000034"))
    for engine in (depot.web.engine, depot.worker.engine, depot.owner):
        engine.dispose()
    schema.downgrade(db.owner, "0011")
    assert {row["has_work"] for row in rows(db, "records")} == {False}
    schema.upgrade(db.owner)
    with_work = [row["mark"] for row in rows(db, "records") if row["has_work"]]
    assert with_work == [BOX]


BEFORE_FOLDS = "0014"
FORMER = """
UPDATE records SET body = (
    body::jsonb - 'work_ahead' - 'to_weigh_since'
    #- '{orders,0,done}' #- '{orders,0,told_by}'
)::json
"""
"""What the fold before the second made of the unit below."""


def list_with_work(depot: Depot) -> tuple[dict[str, Any], ...]:
    return day_lists.list_with_work(depot.web, "NORTH").units


def test_records_of_a_former_fold_are_told_of_extended_and_made_anew(
    depot: Depot, db: DatabaseAddresses
) -> None:
    lines = [{"work": "lock-box"}, {"work": "door-marking"}]
    work_order = report("work-order", lines=lines)
    depot.record(report("gate-in", damage_on_lorry="roof torn"), work_order)
    as_it_is = rows(db, "records")
    for engine in (depot.web.engine, depot.worker.engine, depot.owner):
        engine.dispose()
    schema.downgrade(db.owner, BEFORE_FOLDS)
    depot.change(FORMER)
    schema.upgrade(db.owner)

    assert health.look(depot.web).must_rebuild
    assert must_rebuild(depot.worker)
    found = rebuild(depot.worker, check_only=True)
    assert (found.made_by, found.is_of_another_fold) == (1, True)
    assert found.differing == [depot.unit_id(BOX)]
    # What the former version wrote is read, and goes on.
    depot.record(report("restow", slot="C3", happened_at="2026-03-02T07:30:00+00:00"))
    assert depot.show(BOX).record["slot"] == "C3"
    depot.change(FORMER)
    (card,) = [card_of(unit, {}, date(2026, 3, 2)) for unit in list_with_work(depot)]
    assert [line.count for line in card.orders[0].lines] == [1, 1]
    assert health.look(depot.web).must_rebuild

    rebuild(depot.worker, check_only=False)

    assert not health.look(depot.web).must_rebuild
    (record,) = rows(db, "records")
    assert record["body"]["claims"] == as_it_is[0]["body"]["claims"]
    assert record["body"]["orders"] == as_it_is[0]["body"]["orders"]
    assert rebuild(depot.worker, check_only=True).differing == []


def test_database_without_histories_stands_at_the_fold_of_this_program(
    depot: Depot, db: DatabaseAddresses
) -> None:
    assert rows(db, "folded") == [{"version": FOLD_VERSION}]
    assert not must_rebuild(depot.worker)
