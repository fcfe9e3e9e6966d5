"""The servers that one process has started: looked after while it lives, stopped at its end."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import psutil
import structlog

from deploy.errors import EmbeddedError

log = structlog.get_logger()

_PAUSE_S: Final = 5


@dataclass(frozen=True, slots=True)
class Ways:
    """How a server is started, and how it is stopped."""

    start: Callable[[], psutil.Popen]
    stop: Callable[[psutil.Process], None]


@dataclass(slots=True)
class _Kept:
    name: str
    ways: Ways
    process: psutil.Popen
    not_before: float = 0.0


@dataclass(slots=True)
class KeptServers:
    """Call `revive` now and then, or what dies stays dead. Looks at processes, asks no server."""

    _kept: list[_Kept] = field(default_factory=list)

    def start(self, name: str, ways: Ways) -> None:
        """Start a server and keep it; raises what starting it raises."""
        self._kept.append(_Kept(name, ways, ways.start()))

    def revive(self) -> None:
        """Start again what has died. What does not start is tried again after a pause.

        Call from the thread that started them.
        """
        for one in self._kept:
            code = one.process.poll()
            if code is None or time.monotonic() < one.not_before:
                continue
            log.warning("server.died", server=one.name, code=code)
            try:
                one.process = one.ways.start()
            except EmbeddedError as fault:
                # Senders are told to come again meanwhile; ending here would help nobody.
                log.error("server.not_started", server=one.name, says=str(fault))  # noqa: TRY400 - a traceback says no more
            one.not_before = time.monotonic() + _PAUSE_S

    def close(self) -> None:
        """Stop them all, the last started first; raises at the end what stopping one raised."""
        with contextlib.ExitStack() as stopping:
            for one in self._kept:
                stopping.callback(one.ways.stop, one.process)
        self._kept.clear()
