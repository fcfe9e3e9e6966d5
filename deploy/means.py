"""The means of commands: the services found running, else embedded ones for the command's time."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

import redis

from deploy import current_schema, services
from deploy.errors import DeployError
from deploy.services import Addresses
from shared import settings
from shared.clock import SystemClock
from tracker.announce import LaneAnnouncer
from tracker.cli.means import Running, ServicesAwayError

_REDIS_TIMEOUT_S = 2


class DeployedMeans:
    """Reads the settings when a command first asks for services, and makes the schema current."""

    @contextlib.contextmanager
    def running(self) -> Iterator[Running]:
        """Provide the services; raises `SettingsError` or `ServicesAwayError`."""
        with contextlib.ExitStack() as held:
            try:
                addresses = held.enter_context(services.provide(settings.load()))
                current_schema.bring_up_to_date(addresses.databases.owner)
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
