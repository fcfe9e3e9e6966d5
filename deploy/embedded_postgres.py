"""PostgreSQL in the data folder: made, started, stopped; reached by a private socket only."""

from __future__ import annotations

import shutil
import signal
import subprocess
from typing import TYPE_CHECKING
from urllib.parse import quote

import psutil
import psycopg

from deploy import accounts, binaries, server_process
from deploy.errors import ServerFailedError
from deploy.server_process import Launch

if TYPE_CHECKING:
    from pathlib import Path

    from deploy.embedded_home import Home

SUPERUSER = "hardstand_admin"
# Crash recovery after a power cut may take its time.
_START_S = 120
_INITDB_S = 120
# Fast, then immediate; both are safe for the data.
_STOP = ((signal.SIGINT, 30.0), (signal.SIGQUIT, 10.0), (signal.SIGKILL, 5.0))

# Who gets at the socket is settled by its folder, which is closed to other accounts. Should
# somebody open a port all the same, it asks for a password. Replication is how backups are made,
# and only the superuser's login has the right to it.
_WHO_MAY_CONNECT = """\
# Written at every start; changes here are lost.
local all all     trust
local replication all trust
host  all all all scram-sha-256
"""

_SETTINGS = {
    "listen_addresses": "",
    "unix_socket_permissions": "0700",
    "max_connections": "200",
    "shared_buffers": "256MB",
    "work_mem": "16MB",
    "maintenance_work_mem": "128MB",
    "effective_cache_size": "1GB",
    "random_page_cost": "1.1",
    "jit": "off",
    "wal_compression": "on",
    "max_wal_size": "2GB",
    "checkpoint_timeout": "15min",
    "password_encryption": "scram-sha-256",
    "timezone": "UTC",
    "log_timezone": "UTC",
    "log_line_prefix": "%m [%p] %q%u@%d ",
    "log_lock_waits": "on",
    "log_min_duration_statement": "5s",
}
_DURABLE = {"fsync": "on", "full_page_writes": "on", "synchronous_commit": "on"}
_FAST = {
    "fsync": "off",
    "full_page_writes": "off",
    "synchronous_commit": "off",
    "wal_level": "minimal",
    "max_wal_senders": "0",
}


def address(home: Home) -> str:
    """Return the superuser's address, for the database `hardstand`."""
    return f"postgresql://{SUPERUSER}@/hardstand?host={quote(str(home.sockets), safe='/')}"


def answers(home: Home) -> bool:
    """Tell whether the server takes a connection."""
    try:
        with psycopg.connect(_maintenance_address(home), connect_timeout=2) as connection:
            return connection.execute("select true").fetchone() == (True,)
    except psycopg.OperationalError:
        return False


def start(home: Home, *, durable: bool = True) -> psutil.Popen:
    """Start the server, making its cluster first if there is none; return once it answers.

    Whoever calls holds the home's lock.

    Args:
        home: Where its files are.
        durable: False lets a power cut spoil the data; for tests, which throw it away.

    Raises:
        EmbeddedError: It cannot be made or started.
    """
    if not (home.postgres / "PG_VERSION").exists():
        _make_cluster(home, durable=durable)
    programs = binaries.postgres_folder(_made_by(home))
    _drop_stale_lock(home)
    _configure(home, durable=durable)
    launch = _launch(home, [programs / "postgres", "-D", home.postgres], programs)
    process = server_process.start(launch, folder=home.postgres)
    server_process.wait_until(lambda: answers(home), process, launch, within_s=_START_S)
    return process


def stop(process: psutil.Process) -> None:
    """Stop the server, ending its sessions.

    Raises:
        EmbeddedError: It does not stop.
    """
    server_process.stop(process, _STOP)


def find(home: Home) -> psutil.Process | None:
    """Return the server that runs on this home's files, whoever started it."""
    pid_file = home.postgres / "postmaster.pid"
    return server_process.find(pid_file, program="postgres", says=str(home.postgres))


def _maintenance_address(home: Home) -> str:
    return address(home).replace("/hardstand?", "/postgres?")


def _made_by(home: Home) -> int:
    return int((home.postgres / "PG_VERSION").read_text().strip())


def _make_cluster(home: Home, *, durable: bool) -> None:
    # Made beside and moved into place, so that a half-made cluster is never taken for one.
    making = home.path / "postgres.making"
    shutil.rmtree(making, ignore_errors=True)
    accounts.make_folder(making, home.account)
    programs = binaries.postgres_folder()
    launch = _launch(home, _initdb(programs, making, durable=durable), programs)
    command = server_process.launch_command(launch)
    done = subprocess.run(command, cwd=making, timeout=_INITDB_S, capture_output=True, check=False)  # noqa: S603 - our own programs
    if done.returncode != 0:
        words = done.stderr.decode(errors="replace").strip()
        raise ServerFailedError("initdb", launch.log, " / ".join(words.splitlines()[-4:]))
    making.rename(home.postgres)


def _initdb(programs: Path, folder: Path, *, durable: bool) -> list[str | Path]:
    # The built-in C.UTF-8 sorts alike on every machine and with every C library.
    locale = ["--locale-provider=builtin", "--builtin-locale=C.UTF-8"]
    if programs.parent.name == "pginstall":  # version 16 has no built-in provider
        locale = []
    access = ["--auth-local=trust", "--auth-host=scram-sha-256"]
    return [
        programs / "initdb",
        f"--pgdata={folder}",
        f"--username={SUPERUSER}",
        "--encoding=UTF8",
        "--locale=C",
        *locale,
        *access,
        "--no-instructions",
        *([] if durable else ["--no-sync"]),
    ]


def _launch(home: Home, command: list[str | Path], programs: Path) -> Launch:
    return Launch(
        name="PostgreSQL",
        command=command,
        account=home.account,
        past=accounts.closed_to(
            home.account, program=programs / "postgres", folders=[home.postgres, home.sockets]
        ),
        stop_signal=signal.SIGINT,
        log=home.logs / "postgres.log",
    )


def _drop_stale_lock(home: Home) -> None:
    # The number in it may by now be another program's, which PostgreSQL would take for a server.
    # Nobody else can be starting one: the home's lock is ours.
    for lock in (home.postgres / "postmaster.pid", home.sockets / ".s.PGSQL.5432.lock"):
        if find(home) is None:
            lock.unlink(missing_ok=True)


def _configure(home: Home, *, durable: bool) -> None:
    settings = _SETTINGS | (_DURABLE if durable else _FAST)
    settings["unix_socket_directories"] = str(home.sockets)
    lines = [
        f"{name} = '{value.replace(chr(39), chr(39) * 2)}'" for name, value in settings.items()
    ]
    text = "# Written at every start; changes here are lost.\n" + "\n".join(lines) + "\n"
    (home.postgres / "postgresql.conf").write_text(text)
    (home.postgres / "pg_hba.conf").write_text(_WHO_MAY_CONNECT)
