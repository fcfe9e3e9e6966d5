"""A site that real browsers use: served on a port of this machine, its events drained besides."""

from __future__ import annotations

import contextlib
import socket
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

import uvicorn

from shared.ids import new_id
from tests.support.depot import Depot, wait_until
from tests.support.web import PASSWORD, Site
from tracker.services.drain_all import drain_all
from tracker.store import house
from tracker.web.access import COOKIE
from tracker.web.app import create_app

if TYPE_CHECKING:
    from collections.abc import Iterator

_LOOK_EVERY_S = 0.03


@dataclass(slots=True)
class LiveSite:
    """A site with a switch: while it is off nobody reaches it, as without a signal."""

    site: Site
    port: int
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = None

    @property
    def url(self) -> str:
        """Return where it is served."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def depot(self) -> Depot:
        """Return the depot behind it."""
        return self.site.depot

    def switch_on(self) -> None:
        """Serve, and come back once it answers."""
        # An application anew, as of a process started anew: what it runs belongs to one loop.
        app = create_app(self.depot.web)
        config = uvicorn.Config(
            app, "127.0.0.1", self.port, log_config=None, timeout_graceful_shutdown=1
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        server = self._server
        wait_until(lambda: server.started)

    def switch_off(self) -> None:
        """Serve no more, and come back once the port is free."""
        if self._server is None or self._thread is None:
            return
        self._server.should_exit = True
        self._thread.join()
        self._server = None

    def add_person(self, *roles: str, shown_as: str = "Ada Quill") -> tuple[str, str]:
        """Make an account, and return its name and password."""
        name = f"person-{new_id().hex[-8:]}"
        self.site.add_person(name, *roles, shown_as=shown_as)
        return name, PASSWORD

    def begin_session(self, *roles: str, shown_as: str = "Ada Quill") -> str:
        """Make an account that is signed in, and return what its browser's cookie holds."""
        name = f"person-{new_id().hex[-8:]}"
        client = self.site.person(*roles, name=name, shown_as=shown_as)
        token: str = client.cookies[COOKIE]
        client.close()
        return token


def free_port() -> int:
    """Return a port of this machine that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextlib.contextmanager
def go_live(depot: Depot, port: int | None = None) -> Iterator[LiveSite]:
    """Provide a site over a depot, switched on; a thread of its own drains what is handed in."""
    for code in ("NORTH", "SOUTH"):
        with depot.web.engine.begin() as connection:
            house.set_depot(connection, code, code.title(), "UTC")
    live = LiveSite(Site(depot, create_app(depot.web)), port or free_port())
    stop = threading.Event()

    def drain() -> None:
        while not stop.wait(_LOOK_EVERY_S):
            drain_all(depot.worker)

    drainer = threading.Thread(target=drain)
    drainer.start()
    live.switch_on()
    try:
        yield live
    finally:
        live.switch_off()
        stop.set()
        drainer.join()
