"""The means of commands: the services found running, else embedded ones for the command's time."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

import redis
from alembic.util import CommandError

from deploy import services
from deploy.errors import DeployError
from deploy.services import Addresses
from shared import settings
from shared.clock import SystemClock
from tracker.announce import LaneAnnouncer
from tracker.cli.means import Running, ServicesAwayError
from tracker.store import schema

_REDIS_TIMEOUT_S = 2


class DeployedMeans:
    """Reads the settings when a command first asks for services, and makes the schema current."""

    @contextlib.contextmanager
    def running(self) -> Iterator[Running]:
        """Provide the services; raises `SettingsError` or `ServicesAwayError`."""
        with contextlib.ExitStack() as held:
            try:
                addresses = held.enter_context(services.provide(settings.load()))
                _make_current(addresses)
            except DeployError as fault:
                raise ServicesAwayError(
                    fault.wrong, expected=fault.expected, remedy=fault.remedy
                ) from fault
            yield Running(
                addresses.databases,
                addresses.settings,
                SystemClock(),
                addresses.started_here,
                lambda: _announcer(addresses, held),
            )


def _make_current(addresses: Addresses) -> None:
    try:
        schema.upgrade(addresses.databases.owner)
    except CommandError as fault:
        raise ServicesAwayError(
            f"The database's schema cannot be brought up to date: {fault}",
            expected="a schema no newer than this program",
            remedy="Bring the program up to date",
        ) from fault


def _announcer(addresses: Addresses, held: contextlib.ExitStack) -> LaneAnnouncer:
    from workers.app import create_celery  # noqa: PLC0415 - only who hands events in waits for it

    client = redis.Redis.from_url(
        addresses.redis_url,
        socket_timeout=_REDIS_TIMEOUT_S,
        socket_connect_timeout=_REDIS_TIMEOUT_S,
    )
    held.callback(client.close)
    announcer = LaneAnnouncer(create_celery(addresses.settings), client)
    announcer.start()
    held.callback(announcer.stop)
    return announcer
