"""Who may do what to which table: asked of PostgreSQL, and tried."""

import psycopg
import pytest
from psycopg import errors

from shared.addresses import DatabaseAddresses, Role, libpq_address
from tests.support.depot import Depot, report

PROCESSES = (Role.WEB, Role.WORKER, Role.READER)
RIGHTS = ("INSERT", "UPDATE", "DELETE", "TRUNCATE", "REFERENCES", "TRIGGER")
WORKERS_OWN = (
    "history",
    "receipts",
    "heads",
    "records",
    "marks",
    "moves",
    "questions",
    "alerts",
    "outbox",
    "rounds",
    "personal_values",
    "lane_attempts",
    "folded",
    "photo_uses",
)
REWRITES = {
    "update": "UPDATE history SET body = '{}'",
    "update of nothing": "UPDATE history SET body = body WHERE false",
    "delete": "DELETE FROM history",
    "truncate": "TRUNCATE history",
    "truncate by another": "TRUNCATE heads, history CASCADE",
    "trigger off": "ALTER TABLE history DISABLE TRIGGER ALL",
    "drop": "DROP TABLE history",
}


def rights(depot: Depot, role: Role, table: str) -> set[str]:
    """Return what besides reading a role may do to a table, or to any of its columns."""
    asked = {
        right: f"has_table_privilege(:role, :table, '{right}')"
        + (
            f" OR has_any_column_privilege(:role, :table, '{right}')"
            if right in ("INSERT", "UPDATE", "REFERENCES")
            else ""
        )
        for right in RIGHTS
    }
    query = "SELECT " + ", ".join(f'{asks} AS "{right}"' for right, asks in asked.items())
    (row,) = depot.rows(query, role=role, table=table)
    return {right for right, granted in row.items() if granted}


def attempt(url: str, statement: str) -> None:
    """Try a statement as the role of an address."""
    with psycopg.connect(libpq_address(url)) as connection:
        connection.execute(statement)


def test_no_process_may_do_more_to_the_history_than_the_worker_append(depot: Depot) -> None:
    found = {role: rights(depot, role, "history") for role in PROCESSES}
    assert found == {Role.WEB: set(), Role.WORKER: {"INSERT"}, Role.READER: set()}


@pytest.mark.parametrize("table", WORKERS_OWN)
def test_web_and_reader_may_only_read_what_workers_write(depot: Depot, table: str) -> None:
    assert rights(depot, Role.WEB, table) == set()
    assert rights(depot, Role.READER, table) == set()


def test_reader_may_write_nothing_at_all(depot: Depot) -> None:
    tables = depot.rows("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
    assert len(tables) > 15
    found = {row["tablename"]: rights(depot, Role.READER, row["tablename"]) for row in tables}
    assert {table: granted for table, granted in found.items() if granted} == {}


@pytest.mark.parametrize("rewrite", REWRITES.values(), ids=REWRITES)
@pytest.mark.parametrize("role", PROCESSES)
def test_rewriting_history_is_denied_to_every_process(
    depot: Depot, db: DatabaseAddresses, role: Role, rewrite: str
) -> None:
    depot.record(report("gate-in"))
    with pytest.raises(errors.InsufficientPrivilege):
        attempt(db.of(role), rewrite)
    assert depot.one("SELECT count(*) FROM history") == 1


@pytest.mark.parametrize(
    "rewrite", ["UPDATE history SET body = '{}'", "DELETE FROM history", "TRUNCATE history"]
)
def test_owner_is_stopped_from_a_slip_of_the_hand(
    depot: Depot, db: DatabaseAddresses, rewrite: str
) -> None:
    depot.record(report("gate-in"))
    with pytest.raises(errors.RestrictViolation, match="never changed or removed") as fault:
        attempt(db.owner, rewrite)
    assert fault.value.diag.message_hint == "Record a correction instead."
    assert depot.one("SELECT count(*) FROM history") == 1


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO history SELECT * FROM history",
        "INSERT INTO receipts SELECT * FROM receipts",
        "DELETE FROM receipts",
        "UPDATE records SET stands = 'free'",
        "UPDATE heads SET count = 0",
        "UPDATE intake SET state = 'held'",
        "DELETE FROM intake",
        "INSERT INTO personal_values SELECT * FROM personal_values",
    ],
)
def test_web_taken_over_can_neither_write_nor_unwrite_verdicts(
    depot: Depot, db: DatabaseAddresses, statement: str
) -> None:
    depot.record(report("gate-in"))
    depot.send(report("restow"))
    with pytest.raises(errors.InsufficientPrivilege):
        attempt(db.web, statement)


@pytest.mark.parametrize(
    "query",
    [
        "SELECT value FROM personal_values",
        "SELECT body FROM intake",
        "SELECT * FROM intake",
        "SELECT body FROM unreadable",
        "SELECT address FROM contacts",
    ],
)
def test_reader_learns_no_names(depot: Depot, db: DatabaseAddresses, query: str) -> None:
    depot.record(report("gate-in"))
    depot.send(report("restow"))
    with pytest.raises(errors.InsufficientPrivilege):
        attempt(db.reader, query)


def test_reader_sees_stock_and_how_much_waits(depot: Depot, db: DatabaseAddresses) -> None:
    depot.record(report("gate-in"))
    depot.send(report("restow"))
    with psycopg.connect(libpq_address(db.reader)) as connection:
        query = "SELECT count(*), min(state), (SELECT min(presence) FROM records) FROM intake"
        assert connection.execute(query).fetchone() == (1, "waiting", "in-depot")
        said = connection.execute("SELECT body::text FROM history").fetchone()[0]
    assert "Ada Quill" not in said
