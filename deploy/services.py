"""PostgreSQL and Redis for a process: at the addresses given, else embedded in the data folder."""

from __future__ import annotations

import contextlib
import signal
import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NoReturn

import redis

from deploy import bootstrap, embedded, secret
from deploy.embedded import EmbeddedAddresses, Wanted
from deploy.errors import DeployError, ServiceError, ServiceSilentError
from shared import addresses

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType

    from shared.addresses import DatabaseAddresses
    from shared.settings import Settings

_LEAST_REDIS = (6, 2)


@dataclass(frozen=True, slots=True)
class Addresses:
    """Where the services are, for whom; and the settings that say so to another process."""

    database_url: str | None = field(repr=False)
    """The administrator's address; none where each role's own was given."""
    redis_url: str = field(repr=False)
    databases: DatabaseAddresses
    settings: Settings
    """Complete: addresses and secret filled in."""
    started_here: bool = False
    """PostgreSQL was started for this context alone, so that no worker is at work on it yet."""
    revive: Callable[[], None] = field(default=lambda: None, repr=False, compare=False)
    """Starts again the embedded servers that were started for this context and died since."""


@contextlib.contextmanager
def provide(settings: Settings, *, durable: bool = True) -> Iterator[Addresses]:
    """Provide both services for as long as the context lasts, roles and database made.

    What the settings give an address for is used as it is; the rest is embedded, and stopped at
    the end if it was started here. SIGTERM ends the context like Ctrl-C, unless the program has
    a handler of its own. Call from the main thread.

    Raises:
        DeployError: A service cannot be started, reached or prepared, or only some roles have an
            address.
    """
    _check_roles(settings)
    settings = secret.with_secret(settings)
    wanted = Wanted(_needs_postgres(settings), settings.redis_url is None, durable)
    with _ending_on_sigterm(), _embedded(settings, wanted) as (complete, found):
        redis_url = str(complete.redis_url)
        _check_redis(redis_url)
        databases = complete.databases()
        if complete.database_url is not None:
            bootstrap.prepare(complete.database_url, databases, complete)
        yield Addresses(
            complete.database_url,
            redis_url,
            databases,
            complete,
            found.started_here and wanted.postgres,
            found.revive,
        )


def _check_roles(settings: Settings) -> None:
    # With an address for one role alone, an embedded server for the others would be another truth.
    without = [role.value for role, url in settings.role_urls.items() if url is None]
    if settings.database_url is None and 0 < len(without) < len(settings.role_urls):
        raise DeployError(
            f"Some roles have an address, but not {', '.join(without)}",
            expected="an address for each role, or HARDSTAND_DATABASE_URL beside them",
            remedy="Run commands with the settings of the operator, not with those of one process",
        )


def _needs_postgres(settings: Settings) -> bool:
    return settings.database_url is None and not all(settings.role_urls.values())


@contextlib.contextmanager
def _embedded(settings: Settings, wanted: Wanted) -> Iterator[tuple[Settings, EmbeddedAddresses]]:
    if not (wanted.postgres or wanted.redis):
        yield settings, EmbeddedAddresses("", "")
        return
    with embedded.run(settings.home, wanted) as found:
        complete = settings.changed(
            database_url=found.database_url if wanted.postgres else settings.database_url,
            redis_url=settings.redis_url or found.redis_url,
        )
        yield complete, found


def _check_redis(url: str) -> None:
    try:
        with redis.Redis.from_url(url, socket_connect_timeout=5, socket_timeout=5) as client:
            version = str(client.info("server")["redis_version"])
    except (redis.RedisError, ValueError) as error:
        raise ServiceSilentError(
            f"Redis at {addresses.without_password(url)} cannot be reached: {error}",
            remedy="Check HARDSTAND_REDIS_URL, and that the server runs",
        ) from error
    if tuple(map(int, version.split(".")[:2])) < _LEAST_REDIS:
        raise ServiceError(f"Redis {version} is too old", expected="version 6.2 or later")


@contextlib.contextmanager
def _ending_on_sigterm() -> Iterator[None]:
    in_main_thread = threading.current_thread() is threading.main_thread()
    if not in_main_thread or signal.getsignal(signal.SIGTERM) is not signal.SIG_DFL:
        yield
        return
    signal.signal(signal.SIGTERM, _exit)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)


def _exit(number: int, _: FrameType | None) -> NoReturn:
    raise SystemExit(128 + number)
