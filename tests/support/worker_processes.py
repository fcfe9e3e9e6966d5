"""Real worker processes for tests: Celery's own, in a process group that can be killed whole."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from deploy.environment import environment_of
from workers.app import DRAIN_QUEUE, SLOW_QUEUE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.settings import Settings

_CELERY = """
import sys
from shared.settings import load
from workers.app import create_celery
create_celery(load()).worker_main(
    ["worker", "--without-gossip", "--without-mingle", "--loglevel=WARNING", *sys.argv[1:]]
)
"""
_ONE_DRAIN = """
import sys
from shared.clock import SystemClock
from shared.settings import load
from tracker.services.context import Context
from tracker.services.drain import drain
from tracker.store.engine import make_engine
settings = load()
drain(Context(make_engine(settings.databases().worker), settings, SystemClock()), int(sys.argv[1]))
"""
_ROOT = Path(__file__).parents[2]


@contextlib.contextmanager
def run_drains(settings: Settings, *, children: int = 2) -> Iterator[subprocess.Popen[bytes]]:
    """Run a Celery worker that drains lanes; killed with its children at the end."""
    options = (f"--queues={DRAIN_QUEUE}", f"--concurrency={children}")
    with _run(settings, _CELERY, *options) as process:
        yield process


@contextlib.contextmanager
def run_slow_work(settings: Settings) -> Iterator[subprocess.Popen[bytes]]:
    """Run a Celery worker for sweep, round and mail, with beat inside."""
    settings.home.mkdir(parents=True, exist_ok=True)
    options = (f"--queues={SLOW_QUEUE}", "--pool=solo", "--beat")
    with _run(settings, _CELERY, *options) as process:
        yield process


@contextlib.contextmanager
def run_one_drain(settings: Settings, lane: int) -> Iterator[subprocess.Popen[bytes]]:
    """Run one drain of a lane in a process of its own."""
    with _run(settings, _ONE_DRAIN, str(lane)) as process:
        yield process


def kill(process: subprocess.Popen[bytes]) -> None:
    """Kill a worker with all its children, as a failing machine does."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


@contextlib.contextmanager
def _run(settings: Settings, program: str, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(
        [sys.executable, "-c", program, *arguments],
        cwd=_ROOT,
        env=environment_of(settings) | {"PYTHONPATH": str(_ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        kill(process)
        process.stderr.close()
