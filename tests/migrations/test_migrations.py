from collections.abc import Iterator

import psycopg
import pytest
from alembic.script import ScriptDirectory
from psycopg import sql

from deploy import bootstrap
from shared.addresses import DatabaseAddresses, libpq_address, with_database
from tests.support.services import TestServices, make_settings
from tracker.store import schema


@pytest.fixture
def empty(template_db: TestServices, worker_number: int) -> Iterator[DatabaseAddresses]:
    """A database with roles and nothing in it."""
    name = f"test_{template_db.run}_{worker_number}_empty"
    databases = template_db.databases(name)
    bootstrap.prepare(template_db.database_url, databases, make_settings(databases))
    yield databases
    url = with_database(libpq_address(template_db.database_url), "postgres")
    with psycopg.connect(url, autocommit=True) as connection:
        drop = sql.SQL("drop database {} with (force)")
        connection.execute(drop.format(sql.Identifier(name)))


def contents(url: str) -> dict[str, list[tuple[object, ...]]]:
    """Return what stands in a database: columns, constraints, indexes, triggers, grants."""
    queries = {
        "columns": "SELECT table_name, column_name, data_type, is_nullable, column_default,"
        " is_identity FROM information_schema.columns WHERE table_schema = 'public'",
        "constraints": "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid)"
        " FROM pg_constraint WHERE connamespace = 'public'::regnamespace",
        "indexes": "SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'",
        "triggers": "SELECT tgrelid::regclass::text, pg_get_triggerdef(oid) FROM pg_trigger"
        " WHERE NOT tgisinternal",
        "functions": "SELECT proname, prosrc FROM pg_proc"
        " WHERE pronamespace = 'public'::regnamespace",
        "grants": "SELECT relname, relacl::text FROM pg_class"
        " WHERE relnamespace = 'public'::regnamespace",
        "options": "SELECT relname, reloptions::text FROM pg_class WHERE reloptions IS NOT NULL"
        " AND relnamespace = 'public'::regnamespace",
    }
    with psycopg.connect(libpq_address(url)) as connection:
        return {
            what: sorted(connection.execute(query).fetchall(), key=repr)
            for what, query in queries.items()
        }


def test_migrations_from_nothing_make_exactly_the_tables(empty: DatabaseAddresses) -> None:
    schema.upgrade(empty.owner)
    schema.check(empty.owner)


def test_upgrade_called_again_finds_nothing_to_do(empty: DatabaseAddresses) -> None:
    schema.upgrade(empty.owner)
    before = contents(empty.owner)
    schema.upgrade(empty.owner)
    assert contents(empty.owner) == before


def test_down_to_nothing_and_up_again_is_the_same_database(empty: DatabaseAddresses) -> None:
    schema.upgrade(empty.owner)
    before = contents(empty.owner)
    assert len(before["triggers"]) >= 2
    schema.downgrade(empty.owner, "base")
    left = contents(empty.owner)
    assert {row[0] for row in left["columns"]} == {"alembic_version"}
    assert (left["functions"], left["triggers"]) == ([], [])
    schema.upgrade(empty.owner)
    assert contents(empty.owner) == before


def test_each_step_can_be_undone_and_done_again(empty: DatabaseAddresses) -> None:
    scripts = ScriptDirectory.from_config(schema.migrations_config())
    steps = [script.revision for script in scripts.walk_revisions()][::-1]
    seen = []
    for revision in steps:
        schema.upgrade(empty.owner, revision)
        seen.append(contents(empty.owner))
    for revision, before in list(zip(steps, seen, strict=True))[-2::-1]:
        schema.downgrade(empty.owner, revision)
        assert contents(empty.owner) == before
