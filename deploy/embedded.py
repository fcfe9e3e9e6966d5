"""The embedded servers of one data folder: started once, found by whoever comes next."""

from __future__ import annotations

import contextlib
import fcntl
import os
import time
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Self

from deploy import embedded_home, embedded_postgres, embedded_redis
from deploy.errors import HomeTakenError
from deploy.kept_servers import KeptServers, Ways

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from deploy.embedded_home import Home

_FOUND_WITHIN_S = 150
_POLL_S = 0.1


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which servers are needed, and how dear their data are."""

    postgres: bool = True
    redis: bool = True
    durable: bool = True


@dataclass(frozen=True, slots=True)
class EmbeddedAddresses:
    """Where the servers listen; present for both, whichever was wanted."""

    database_url: str
    redis_url: str
    started_here: bool = False
    """This caller started them; others find them, and whoever works on them."""
    revive: Callable[[], None] = field(default=lambda: None, repr=False, compare=False)
    """Starts again what this caller started and what died since; call it now and then."""


@contextlib.contextmanager
def run(path: Path, wanted: Wanted | None = None) -> Iterator[EmbeddedAddresses]:
    """Provide the servers of the data folder at `path` for as long as the context lasts.

    Whoever holds the folder's lock has started the servers, and stops them; all others find them
    and leave them alone. The lock goes with its holder, however that ends, and the servers are
    stopped by the system then (on Linux; elsewhere the next start stops what was left).

    Call from the main thread: the servers stop when the thread that started them ends.

    Raises:
        EmbeddedError: They cannot be started or found.
    """
    wanted = wanted or Wanted()
    home = embedded_home.open_home(path)
    with _hold_or_find(home, wanted) as lock, contextlib.closing(KeptServers()) as servers:
        if lock is not None:
            _stop_leftovers(home)
            _start(home, wanted, servers)
        yield EmbeddedAddresses(
            embedded_postgres.address(home),
            embedded_redis.address(home),
            lock is not None,
            servers.revive,
        )


class _Lock:
    """The home's lock, held until closed. Its file is never removed, only unlocked."""

    def __init__(self, file: int) -> None:
        self._file = file

    @classmethod
    def take(cls, path: Path) -> Self | None:
        """Return the lock, or none if another process (or caller here) holds it."""
        file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(file)
            return None
        os.ftruncate(file, 0)
        os.write(file, f"{os.getpid()}\n".encode())
        return cls(file)

    def close(self) -> None:
        """Let go."""
        os.close(self._file)


@contextlib.contextmanager
def _hold_or_find(home: Home, wanted: Wanted) -> Iterator[_Lock | None]:
    # Tried again and again: the holder may be starting them still, or just be ending.
    give_up_at = time.monotonic() + _FOUND_WITHIN_S
    answered = False
    while (lock := _Lock.take(home.lock)) is None:
        # Found only if still held after they answered: a holder that dies takes them along.
        if answered:
            yield None
            return
        answered = _all_answer(home, wanted)
        if time.monotonic() > give_up_at:
            raise HomeTakenError(home.path, home.lock.read_text().strip())
        if not answered:
            time.sleep(_POLL_S)
    with contextlib.closing(lock):
        yield lock


def _all_answer(home: Home, wanted: Wanted) -> bool:
    if wanted.postgres and not embedded_postgres.answers(home):
        return False
    return not wanted.redis or embedded_redis.answers(home)


def _stop_leftovers(home: Home) -> None:
    # Their starter is gone, or we would not hold the lock: they are ending, or should be.
    if (postgres := embedded_postgres.find(home)) is not None:
        embedded_postgres.stop(postgres)
    if (redis := embedded_redis.find(home)) is not None:
        embedded_redis.stop(redis)


def _start(home: Home, wanted: Wanted, servers: KeptServers) -> None:
    if wanted.postgres:
        start = partial(embedded_postgres.start, home, durable=wanted.durable)
        servers.start("PostgreSQL", Ways(start, embedded_postgres.stop))
    if wanted.redis:
        start = partial(embedded_redis.start, home)
        servers.start("Redis", Ways(start, embedded_redis.stop))
