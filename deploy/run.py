"""Everything on one machine: services, schema, processes; until Ctrl-C."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Iterator, Sequence
from http.client import HTTPConnection
from typing import Final

import structlog

from deploy import current_schema, services, stack
from deploy.errors import DeployError
from deploy.process import Part
from deploy.stack import Stack
from shared import logs
from shared.settings import Settings
from tracker.judge.fold import FOLD_VERSION
from tracker.store import folded
from tracker.store.engine import make_engine

log = structlog.get_logger()

_START_S: Final = 60


class PortTakenError(DeployError):
    """Another program listens where the pages should be; carries host and port."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port
        super().__init__(
            f"Port {port} on {host} is taken by another program",
            expected="a free port",
            remedy="Stop that program, or set HARDSTAND_WEB_PORT to another port",
        )


class WebSilentError(DeployError):
    """The web process does not answer."""


@contextlib.contextmanager
def prepared(settings: Settings) -> Iterator[services.Addresses]:
    """Provide services with the newest schema for as long as the context lasts."""
    with services.provide(settings) as addresses:
        current_schema.bring_up_to_date(addresses.databases.owner)
        _tell_of_former_records(addresses.databases.owner)
        yield addresses


def _tell_of_former_records(database_url: str) -> None:
    """Say so where records stand that a former version of the program made."""
    engine = make_engine(database_url, name="prepare")
    try:
        with engine.begin() as connection:
            made_by = folded.version(connection)
    finally:
        engine.dispose()
    if made_by != FOLD_VERSION:
        log.warning("records.of_another_fold", made_by=made_by, remedy="hardstand rebuild")


@contextlib.contextmanager
def serving(settings: Settings, parts: Sequence[Part] = tuple(Part)) -> Iterator[Stack]:
    """Run the stack on prepared services; its web process answers when the context is entered.

    Raises:
        PortTakenError: Somebody else listens on the port.
        WebSilentError: The web process does not come up.
    """
    _claim_port(settings)
    with stack.running(settings, parts) as running:
        await_web(settings, running)
        yield running


def serve(settings: Settings) -> None:
    """Run everything until a signal ends it; says on standard error what dies meanwhile."""
    logs.configure("serve", level="WARNING")
    with prepared(settings) as addresses, serving(addresses.settings) as running:
        running.watch(addresses.revive)


def _claim_port(settings: Settings) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((settings.web_host, settings.web_port))
        except OSError:
            raise PortTakenError(settings.web_host, settings.web_port) from None


def await_web(settings: Settings, running: Stack) -> None:
    """Return when the web process answers; raises `WebSilentError` when it does not come up."""
    deadline = time.monotonic() + _START_S
    while time.monotonic() < deadline:
        with (
            contextlib.suppress(OSError),
            contextlib.closing(
                HTTPConnection(settings.web_host, settings.web_port, timeout=2)
            ) as connection,
        ):
            connection.request("GET", "/health")
            if connection.getresponse().status == 200:
                return
        running.revive()
        time.sleep(0.1)
    raise WebSilentError(
        f"The web process did not answer within {_START_S} s",
        remedy=f"Its last words are in {settings.home / 'logs' / 'web.log'}",
    )
