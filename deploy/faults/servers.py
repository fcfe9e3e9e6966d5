"""PostgreSQL and Redis of the faults' own, to be crashed, stopped and started again."""

from __future__ import annotations

import contextlib
import signal
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import psutil
import psycopg
import redis

from deploy import embedded_home, embedded_postgres, embedded_redis, services
from deploy.embedded_home import Home
from deploy.services import Addresses
from shared import addresses as spelling
from shared.addresses import Role
from shared.settings import Settings

_STOP_S: Final = 30
_POLL_S: Final = 0.02
_CUT: Final = (
    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity"
    " WHERE usename = %s AND datname = current_database()"
)


@dataclass(frozen=True, slots=True)
class Servers:
    """Both servers of one private home. What stops and starts them calls from the main thread."""

    provided: Addresses
    home: Home
    restarted: list[psutil.Popen] = field(default_factory=list)

    def stop_redis(self) -> None:
        """Stop Redis; all it carried is gone."""
        _end(embedded_redis.find(self.home), signal.SIGTERM)

    def start_redis(self) -> None:
        """Start Redis again, empty."""
        self.restarted.append(embedded_redis.start(self.home))

    def flush_redis(self) -> None:
        """Empty Redis while it runs."""
        with redis.Redis.from_url(self.provided.redis_url) as client:
            client.flushall()

    def crash_postgres(self) -> None:
        """Stop PostgreSQL at once, as a failing machine does: it has to recover afterwards."""
        _end(embedded_postgres.find(self.home), signal.SIGQUIT)

    def start_postgres(self) -> None:
        """Start PostgreSQL; return once it has recovered and answers."""
        self.restarted.append(embedded_postgres.start(self.home, durable=True))

    def cut_workers(self, database: str) -> int:
        """End the sessions of all workers, as a failing network does; return how many."""
        url = spelling.libpq_address(str(self.provided.database_url))
        with psycopg.connect(spelling.with_database(url, database), autocommit=True) as connection:
            found = connection.execute(_CUT, [Role.WORKER.value]).fetchone()
        return int(found[0]) if found else 0

    def note_commits(self) -> None:
        """Let PostgreSQL keep the moment of each commit, by which the recorded order is known."""
        url = spelling.libpq_address(str(self.provided.database_url))
        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute("ALTER SYSTEM SET track_commit_timestamp = on")
        self.crash_postgres()
        self.start_postgres()

    def stop_restarted(self) -> None:
        """Stop what was started anew; who provided the first ones knows nothing of these."""
        _end(embedded_postgres.find(self.home), signal.SIGINT)
        self.stop_redis()
        for process in self.restarted:
            process.wait(_STOP_S)


def _end(process: psutil.Process | None, by: signal.Signals) -> None:
    """Send a signal and wait until the process is dead, leaving it to its starter to bury it."""
    if process is None:
        return
    process.send_signal(by)
    give_up_at = time.monotonic() + _STOP_S
    while not _is_dead(process):
        if time.monotonic() > give_up_at:
            raise TimeoutError(f"process {process.pid} does not end")
        time.sleep(_POLL_S)


def _is_dead(process: psutil.Process) -> bool:
    try:
        return bool(process.status() == psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return True


@contextlib.contextmanager
def run_servers(settings: Settings, home: Path) -> Iterator[Servers]:
    """Run servers in a home of their own, whatever addresses the settings give.

    Durable: what was promised before a crash must be there after it.
    """
    urls = [name for name in type(settings).model_fields if name.endswith("_url")]
    own = settings.changed(home=home, photo_store=None, **dict.fromkeys(urls))
    with services.provide(own) as provided:
        servers = Servers(provided, embedded_home.open_home(own.home))
        try:
            servers.note_commits()
            yield servers
        finally:
            servers.stop_restarted()
