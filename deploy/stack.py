"""The processes of one machine: started together, started again when one dies, stopped together."""

from __future__ import annotations

import contextlib
import itertools
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO, Final

import structlog

from deploy import launcher, log_files
from deploy.environment import environment_of
from deploy.errors import DeployError
from deploy.part_settings import settings_for
from deploy.process import Part
from shared.settings import Settings

log = structlog.get_logger()

_PATIENCE_S: Final = 15
"""How long a process has to finish what it is doing."""

_BREATH_S: Final = 1
_LOOKS_PER_LOG_LOOK: Final = 60
_SOON_S: Final = 10
_FALLS: Final = 5


class PartFailedError(DeployError):
    """A process of the stack dies again and again; names it and its log."""

    def __init__(self, part: Part, log_file: Path) -> None:
        self.part = part
        super().__init__(
            f"The process {part.value!r} died {_FALLS} times, each within {_SOON_S} s of its start",
            remedy=f"Its last words are in {log_file}",
        )


@dataclass(slots=True)
class _Running:
    part: Part
    process: subprocess.Popen[bytes]
    started_at: float
    falls: int = 0


@dataclass(slots=True)
class Stack:
    """The running parts. Watch it, or it is only started and stopped."""

    settings: Settings
    _running: list[_Running] = field(default_factory=list)

    def start(self, parts: Sequence[Part]) -> None:
        """Start the parts, each with a log of its own under the home folder."""
        for part in parts:
            self._running.append(_Running(part, self._spawn(part), time.monotonic()))

    def watch(self, revive_servers: Callable[[], None]) -> None:
        """Start again what dies, the servers below first, until a signal ends this process.

        Raises:
            PartFailedError: A part does not stay up.
        """
        for look in itertools.count():
            time.sleep(_BREATH_S)
            revive_servers()
            self.revive()
            if look % _LOOKS_PER_LOG_LOOK == 0:
                self._turn_logs_over()

    def revive(self) -> None:
        """Start again what has died; raises `PartFailedError` for what keeps dying."""
        for running in self._running:
            code = running.process.poll()
            if code is None:
                continue
            soon = time.monotonic() - running.started_at < _SOON_S
            running.falls = running.falls + 1 if soon else 1
            log.warning("part.died", part=running.part.value, code=code, falls=running.falls)
            if running.falls >= _FALLS:
                raise PartFailedError(running.part, self._log_file(running.part))
            running.process = self._spawn(running.part)
            running.started_at = time.monotonic()

    def _turn_logs_over(self) -> None:
        try:
            log_files.turn_over(self.settings.home / "logs")
        except OSError as fault:
            log.warning("logs.not_turned_over", says=str(fault))

    def stop(self) -> list[Part]:
        """Ask all parts to end, the web first, and end those that do not, which are returned."""
        for running in self._running:
            running.process.send_signal(signal.SIGTERM)
        deadline = time.monotonic() + _PATIENCE_S
        killed: list[Part] = []
        for running in self._running:
            try:
                running.process.wait(max(0.1, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                log.warning("part.killed", part=running.part.value)
                running.process.kill()
                running.process.wait()
                killed.append(running.part)
        self._running.clear()
        return killed

    def pids(self) -> dict[Part, int]:
        """Return the process id of each part."""
        return {running.part: running.process.pid for running in self._running}

    def _spawn(self, part: Part) -> subprocess.Popen[bytes]:
        # The launcher arranges that the part ends with us, even when we are killed.
        command = [
            sys.executable,
            str(launcher.__file__),
            f"--starter={os.getpid()}",
            f"--stop-signal={signal.SIGTERM.value}",
            "--",
            sys.executable,
            *("-m", "deploy.process", part.value),
        ]
        with self._open_log(part) as out:
            return subprocess.Popen(  # noqa: S603 - our own program, no shell
                command,
                env=environment_of(settings_for(part, self.settings)),
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=out,
                start_new_session=True,
                cwd=Path(__file__).parent.parent,
            )

    def _log_file(self, part: Part) -> Path:
        return self.settings.home / "logs" / f"{part.value}.log"

    def _open_log(self, part: Part) -> BinaryIO:
        path = self._log_file(part)
        path.parent.mkdir(parents=True, exist_ok=True)
        return path.open("ab")


@contextlib.contextmanager
def running(settings: Settings, parts: Sequence[Part] = tuple(Part)) -> Iterator[Stack]:
    """Run parts of the stack for as long as the context lasts."""
    stack = Stack(settings)
    try:
        stack.start(parts)
        yield stack
    finally:
        stack.stop()
