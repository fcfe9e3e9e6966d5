"""`hardstand serve`, as a shell starts it: what dies is started again, and that is said."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING, Any

import psutil

from deploy import embedded_home, embedded_postgres, embedded_redis
from deploy.environment import environment_of
from tests.support.depot import wait_until
from tests.support.live_site import free_port

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.settings import Settings

ROOT = Path(__file__).parents[2]


@contextlib.contextmanager
def served(home: Path, port: int) -> Iterator[subprocess.Popen[bytes]]:
    """Serve a house of its own; what it says on standard error stands in `said` beside it."""
    environment = {
        "HARDSTAND_HOME": str(home),
        "HARDSTAND_WEB_PORT": str(port),
        "PATH": os.defpath,
        "PYTHONPATH": ".",
    }
    with (home.parent / "said").open("wb") as said:
        process = subprocess.Popen(
            [sys.executable, "-m", "deploy.hardstand", "serve"],
            cwd=ROOT,
            env=environment,
            stderr=said,
        )
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(60)


def ask_ready(port: int) -> dict[str, Any]:
    """Return what `/ready` answers, nothing while nobody does."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/ready", timeout=5) as answer:
            return dict(json.load(answer))
    except urllib.error.HTTPError as refusal:
        with refusal:
            return dict(json.load(refusal))
    except OSError:
        return {}


def test_beat_makes_the_folder_that_it_keeps_its_place_in(
    settings: Settings, tmp_path: Path
) -> None:
    home = tmp_path / "not" / "there"
    beat = subprocess.Popen(
        [sys.executable, "-m", "deploy.process", "beat"],
        cwd=ROOT,
        env=environment_of(settings.changed(home=home)) | {"PYTHONPATH": "."},
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: list(home.glob("beat-schedule*")))
        assert beat.poll() is None
    finally:
        beat.terminate()
        beat.wait(30)


def test_servers_and_processes_that_die_are_started_again_and_named(tmp_path: Path) -> None:
    port = free_port()

    def is_well() -> bool:
        found = ask_ready(port)
        return (found.get("ready"), found.get("broker")) == (True, "up")

    with served(tmp_path / "home", port) as serving:
        wait_until(is_well)
        home = embedded_home.open_home(tmp_path / "home")
        for find in (embedded_redis.find, embedded_postgres.find):
            server = find(home)
            assert server is not None
            server.kill()
            wait_until(lambda before=server, find=find: find(home) not in {None, before})
            wait_until(is_well)
        (beat,) = [
            child
            for child in psutil.Process(serving.pid).children()
            if child.cmdline()[-2:] == ["deploy.process", "beat"]
        ]
        beat.kill()
        said = tmp_path / "said"
        wait_until(lambda: b'"beat"' in said.read_bytes())
    lines = [json.loads(line) for line in said.read_text().splitlines()]
    told = [(line["event"], line.get("server") or line.get("part")) for line in lines]
    assert told == [("server.died", "Redis"), ("server.died", "PostgreSQL"), ("part.died", "beat")]
