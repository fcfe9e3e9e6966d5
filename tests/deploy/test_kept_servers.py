"""What is started once and looked after: real processes, which stand for the servers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from deploy import kept_servers
from deploy.errors import ServerFailedError
from deploy.kept_servers import KeptServers, Ways


class Starter:
    """Starts a process that waits; fails as often as it is told to."""

    def __init__(self) -> None:
        self.started: list[psutil.Popen] = []
        self.failures = 0

    def start(self) -> psutil.Popen:
        """Start one more, or fail."""
        if self.failures:
            self.failures -= 1
            raise ServerFailedError("Waiter", Path("waiter.log"), "no room")
        command = [sys.executable, "-c", "input()"]
        self.started.append(psutil.Popen(command, stdin=subprocess.PIPE))
        return self.started[-1]

    def stop(self, process: psutil.Process) -> None:
        """End one of them, unless it ended before."""
        for one in self.started:
            if one.pid == process.pid and one.poll() is None:
                one.kill()
                one.wait()
                one.stdin.close()


def lose(starter: Starter) -> None:
    starter.stop(starter.started[-1])


def test_revive_leaves_alone_what_lives_and_starts_again_what_died() -> None:
    starter, servers = Starter(), KeptServers()
    servers.start("Waiter", Ways(starter.start, starter.stop))
    servers.revive()
    assert len(starter.started) == 1
    lose(starter)
    servers.revive()
    assert len(starter.started) == 2
    servers.close()
    assert not starter.started[1].is_running()


@pytest.mark.parametrize(("pause_s", "started"), [(60, 1), (0, 2)])
def test_revive_tries_again_what_did_not_start_once_the_pause_is_over(
    monkeypatch: pytest.MonkeyPatch, pause_s: int, started: int
) -> None:
    monkeypatch.setattr(kept_servers, "_PAUSE_S", pause_s)
    starter, servers = Starter(), KeptServers()
    servers.start("Waiter", Ways(starter.start, starter.stop))
    lose(starter)
    starter.failures = 1
    servers.revive()  # does not start
    servers.revive()
    assert (len(starter.started), starter.failures) == (started, 0)
    servers.close()


def test_close_stops_all_that_was_started() -> None:
    starter, servers = Starter(), KeptServers()
    for name in ("Waiter", "Other"):
        servers.start(name, Ways(starter.start, starter.stop))
    servers.close()
    assert not any(process.is_running() for process in starter.started)
