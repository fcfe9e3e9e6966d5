"""A worker beside a test, for pages that wait for a verdict."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tracker.services.drain_all import drain_all

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.support.web import Site


@contextmanager
def draining(site: Site) -> Iterator[None]:
    """Let a worker give verdicts for as long as the context lasts."""
    stop = threading.Event()

    def drain() -> None:
        while not stop.wait(0.02):
            drain_all(site.depot.worker)

    thread = threading.Thread(target=drain)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()
