"""The servers alone: a dump is restored into what they make, as docs/running.md tells it."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from deploy import binaries
from deploy.environment import environment_of
from shared.addresses import libpq_address, read_login, with_database
from tests.support.depot import Depot, marks_of, report
from tracker.services.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.addresses import DatabaseAddresses
    from shared.settings import Settings
    from tests.support.services import TestServices

ROOT = Path(__file__).parents[2]


def environment(home: Path) -> dict[str, str]:
    return {"HARDSTAND_HOME": str(home), "PATH": os.defpath, "PYTHONPATH": "."}


@contextlib.contextmanager
def kept_up(home: Path) -> Iterator[dict[str, Any]]:
    """Keep the servers of a data folder up; gives what the program says of them."""
    process = subprocess.Popen(
        [sys.executable, "-m", "deploy.servers_only"],
        cwd=ROOT,
        env=environment(home),
        stderr=subprocess.PIPE,
    )
    with process:
        try:
            assert process.stderr is not None
            yield dict(json.loads(process.stderr.readline()))
        finally:
            process.send_signal(signal.SIGTERM)
    assert process.returncode == 128 + signal.SIGTERM


def hardstand(home: Path, *words: str) -> Any:  # noqa: ANN401 - any JSON
    command = [sys.executable, "-m", "deploy.hardstand", *words, "--json"]
    done = subprocess.run(
        command, cwd=ROOT, env=environment(home), capture_output=True, timeout=100, check=False
    )
    assert (done.returncode, done.stderr) == (0, b"")
    return json.loads(done.stdout)


def run(program: Path, *arguments: str | Path) -> None:
    done = subprocess.run(
        [program, *arguments], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr


def test_dump_restored_into_a_new_data_folder_is_the_same_record(
    depot: Depot, db: DatabaseAddresses, template_db: TestServices, tmp_path: Path
) -> None:
    depot.record(*(report("gate-in", mark) for mark in marks_of(20)))
    name = read_login(db.owner).database
    source = with_database(libpq_address(template_db.database_url), name)
    dump = tmp_path / "hardstand.dump"
    tools = binaries.postgres_folder()
    run(tools / "pg_dump", "--format=custom", f"--file={dump}", f"--dbname={source}")
    home = tmp_path / "again"
    with kept_up(home) as said:
        assert said["event"] == "servers.up"
        restore = [
            Path(said["tools"]) / "pg_restore",
            *("--exit-on-error", "--single-transaction", f"--dbname={said['administrator']}", dump),
        ]
        run(*restore)
        proven = hardstand(home, "verify")  # a command finds them, and leaves them up
        assert (proven["rows"], proven["root"]) == (20, verify(depot.worker).root)
        assert hardstand(home, "rebuild", "--check") is not None
    assert len(hardstand(home, "stock")) == 20


def test_servers_of_ones_own_are_prepared_and_left(settings: Settings) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "deploy.servers_only"],
        cwd=ROOT,
        env=environment_of(settings) | {"PYTHONPATH": "."},
        capture_output=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stderr)["event"] == "servers.not_ours"
