"""Backup and restore with PostgreSQL's own tools, as docs/running.md tells it."""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

import psycopg
import pytest
from psycopg import sql
from sqlalchemy.exc import IntegrityError

from deploy import binaries
from shared.addresses import libpq_address, read_login, with_database
from tests.support.depot import BOX, OTHER, Depot, marks_of, open_up, report
from tests.support.services import make_settings
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from shared.addresses import DatabaseAddresses
    from shared.clock import StandingClock
    from tests.support.services import TestServices


def run(program: str, *arguments: str | Path) -> None:
    command = [binaries.postgres_folder() / program, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


@pytest.fixture
def elsewhere(template_db: TestServices, worker_number: int) -> Iterator[DatabaseAddresses]:
    """An empty database in a cluster that has the roles."""
    name = f"test_{template_db.run}_{worker_number}_restored"
    names = {"name": sql.Identifier(name), "owner": sql.Identifier("hardstand_owner")}
    url = with_database(libpq_address(template_db.database_url), "postgres")
    with psycopg.connect(url, autocommit=True) as connection:
        make = "create database {name} owner {owner} template template0"
        connection.execute(sql.SQL(make).format(**names))
        yield template_db.databases(name)
        connection.execute(sql.SQL("drop database {name} with (force)").format(**names))


def tables(depot: Depot) -> dict[str, list[str]]:
    """Return every row of every table, as text."""
    names = depot.rows("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
    return {
        row["tablename"]: sorted(
            str(one["line"])
            for one in depot.rows(f"SELECT t::text AS line FROM {row['tablename']} t")  # noqa: S608
        )
        for row in names
    }


def test_backup_restored_elsewhere_is_the_same_record_and_goes_on(
    depot: Depot,
    db: DatabaseAddresses,
    elsewhere: DatabaseAddresses,
    template_db: TestServices,
    clock: StandingClock,
    tmp_path: Path,
) -> None:
    depot.open_depot("NORTH", manager="ada@depot.example")
    depot.record(*(report("gate-in", mark) for mark in marks_of(20)), report("gate-in"))
    depot.record(report("sale"), b"no event")
    depot.send(report("gate-in", OTHER))  # accepted, and not yet judged
    kept = tmp_path / "hardstand.dump"

    def as_admin(databases: DatabaseAddresses) -> str:
        name = read_login(databases.owner).database
        return f"--dbname={with_database(libpq_address(template_db.database_url), name)}"

    run("pg_dump", "--format=custom", f"--file={kept}", as_admin(db))
    run("pg_restore", "--exit-on-error", "--single-transaction", as_admin(elsewhere), kept)

    with open_up(make_settings(elsewhere, home=tmp_path), clock) as restored:
        assert tables(restored) == tables(depot)
        found = verify(restored.worker)
        assert (found.flaws, found.root) == ((), verify(depot.worker).root)
        assert found.rows >= 22
        assert rebuild(restored.worker, check_only=True).differing == []
        # What was promised before the backup is judged after it, and history takes new rows only.
        restored.drain_all()
        assert restored.show(OTHER).record["presence"] == "in-depot"
        with pytest.raises(IntegrityError, match="never changed"):
            restored.rows("UPDATE history SET seq = 99 RETURNING seq")
        assert restored.show(BOX).record["sale"] is not None
        assert verify(restored.worker).flaws == ()
