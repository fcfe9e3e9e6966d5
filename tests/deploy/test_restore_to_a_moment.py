"""Back to a moment: a base backup and the log that followed, as docs/running.md tells it."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import psycopg

from deploy import accounts, binaries
from deploy import services as deployed
from shared.addresses import libpq_address
from shared.settings import Settings
from tests.support.depot import BOX, OTHER, Depot, open_up, report, wait_until
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.store import schema

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.clock import StandingClock


def program(name: str) -> Path:
    return binaries.postgres_folder() / name


@contextlib.contextmanager
def log_received(address: str, folder: Path) -> Iterator[None]:
    """Have the server's log written down elsewhere for as long as the context lasts."""
    folder.mkdir(exist_ok=True)
    slot = [program("pg_receivewal"), f"--dbname={address}", "--slot=kept_log"]
    subprocess.run([*slot, "--create-slot", "--if-not-exists"], check=True, timeout=60)
    receiver = subprocess.Popen(
        [*slot, f"--directory={folder}", "--no-loop"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: list(folder.glob("*.partial")))
        yield
    finally:
        receiver.send_signal(signal.SIGINT)
        receiver.wait(30)


def base_backup(address: str, folder: Path) -> None:
    command = [program("pg_basebackup"), f"--dbname={address}", f"--pgdata={folder}"]
    subprocess.run(
        [*command, "--checkpoint=fast", "--wal-method=none", "--no-sync"],
        check=True,
        capture_output=True,
        timeout=60,
    )


def set_back(home: Path, log: Path, moment: str) -> None:
    """Lay the log where the restored server looks for it, and tell it how far to go."""
    cluster = home / "postgres"
    for segment in log.iterdir():
        name = segment.name.removesuffix(".partial")
        (cluster / "pg_wal" / name).write_bytes(segment.read_bytes())
    with (cluster / "postgresql.auto.conf").open("a") as file:
        file.write(
            f"recovery_target_time = '{moment}'\n"
            "recovery_target_action = promote\n"
            "restore_command = 'false'\n"
            "hot_standby = off\n"
        )
    (cluster / "recovery.signal").touch()
    account = accounts.server_account()
    if account.is_other:
        for path in (cluster, *cluster.rglob("*")):
            os.chown(path, account.uid, account.gid)


def test_record_goes_back_to_a_moment_and_on_from_there(
    tmp_path: Path, clock: StandingClock
) -> None:
    with deployed.provide(Settings(home=tmp_path / "home")) as found:
        schema.upgrade(found.databases.owner)
        address = libpq_address(str(found.database_url))
        with open_up(found.settings, clock) as depot:
            with log_received(address, tmp_path / "log"):
                (tmp_path / "again").mkdir()
                base_backup(address, tmp_path / "again" / "postgres")
                depot.record(report("gate-in"))
            # While nobody takes the log, the server would throw it away at its checkpoints.
            for _ in range(3):
                switch_log(depot)
            with log_received(address, tmp_path / "log"):
                root = verify(depot.worker).root
                moment = str(depot.one("SELECT clock_timestamp()"))
                depot.record(report("gate-in", OTHER))  # what should never have been
                last = switch_log(depot)
                wait_until(lambda: (tmp_path / "log" / last).exists())
    set_back(tmp_path / "again", tmp_path / "log", moment)

    again = Settings(home=tmp_path / "again", secret_key=found.settings.secret_key)
    with deployed.provide(again) as found, open_up(found.settings, clock) as depot:
        assert depot.rows("SELECT subject FROM marks") == [{"subject": BOX}]
        assert (verify(depot.worker).root, verify(depot.worker).flaws) == (root, ())
        assert rebuild(depot.worker, check_only=True).differing == []
        depot.record(report("restow"))
        assert depot.show(BOX).record["slot"] == "A1-2"


def switch_log(depot: Depot) -> str:
    """End the log's segment, and what is no longer needed of it; return its name."""
    admin = str(depot.web.settings.database_url)
    with psycopg.connect(libpq_address(admin), autocommit=True) as connection:
        row = connection.execute("SELECT pg_walfile_name(pg_switch_wal())").fetchone()
        connection.execute("CHECKPOINT")
    assert row is not None
    return str(row[0])
