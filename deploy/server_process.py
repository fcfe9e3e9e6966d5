"""One server process: started to die with its starter, found again, stopped."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import psutil

from deploy import launcher
from deploy.errors import EmbeddedError, ServerFailedError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from signal import Signals

    from deploy.accounts import Account
    from deploy.launcher import Past

_LOG_KEPT_BYTES = 10_000_000
_POLL_S = 0.03
_LAST_WORDS = 600


@dataclass(frozen=True, slots=True)
class Launch:
    """How a server is started: by whom, with what, dying of which signal, saying it where."""

    name: str
    command: Sequence[str | Path]
    account: Account
    past: Past
    stop_signal: Signals
    log: Path


def start(launch: Launch, *, folder: Path) -> psutil.Popen:
    """Start a server in `folder`, out of reach of the terminal's Ctrl-C.

    It gets `stop_signal` when the calling thread ends, however that happens; so call from the
    main thread. Its output goes to the log, which is turned over once when it has grown large.
    """
    with _open_log(launch.log) as log:
        return psutil.Popen(
            launch_command(launch),
            cwd=folder,
            env={"LC_ALL": "C", "PATH": os.defpath, "TZ": "UTC"},
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )


def launch_command(launch: Launch) -> list[str]:
    """Return the command line that starts a server through the launcher."""
    change = [f"--account={launch.account.name}", f"--past={launch.past.value}"]
    return [
        sys.executable,
        # Alone with the standard library: quicker, and nothing of ours is imported as root.
        "-IS",
        launcher.__file__,
        f"--starter={os.getpid()}",
        f"--stop-signal={int(launch.stop_signal)}",
        *(change if launch.account.is_other else []),
        "--",
        *map(str, launch.command),
    ]


def wait_until(
    answers: Callable[[], bool], process: psutil.Popen, launch: Launch, *, within_s: float
) -> None:
    """Wait until a started server answers.

    Raises:
        ServerFailedError: It ended, or did not answer in time; then it is ended.
    """
    give_up_at = time.monotonic() + within_s
    while not answers():
        ended = process.poll() is not None
        if ended or time.monotonic() > give_up_at:
            if not ended:
                process.kill()
                process.wait()
            raise ServerFailedError(launch.name, launch.log, last_words(launch.log))
        time.sleep(_POLL_S)


def find(pid_file: Path, *, program: str, says: str) -> psutil.Process | None:
    """Return the live process that `pid_file` names, if it is `program` and its title says `says`.

    Numbers of processes are given out again, so the number alone proves nothing. The title can be
    read of any account's process; its folder can not, in a container.
    """
    try:
        process = psutil.Process(int(pid_file.read_text().split(maxsplit=1)[0]))
        is_ours = process.name().startswith(program) and says in " ".join(process.cmdline())
    except (OSError, ValueError, IndexError, psutil.Error):
        return None
    return process if is_ours else None


def stop(process: psutil.Process, steps: Sequence[tuple[Signals, float]]) -> None:
    """Stop a process: send each signal in turn, waiting so many seconds after each.

    Raises:
        EmbeddedError: It outlived them all.
    """
    for signal, wait_s in steps:
        with contextlib.suppress(psutil.NoSuchProcess):
            process.send_signal(signal)
        with contextlib.suppress(psutil.TimeoutExpired):
            process.wait(wait_s)
            return
    raise EmbeddedError(f"Process {process.pid} does not stop", remedy="End it by hand")


def last_words(log: Path) -> str:
    """Return the end of a log on one line."""
    with contextlib.suppress(OSError):
        return " / ".join(log.read_text(errors="replace")[-_LAST_WORDS:].split("\n")[-6:]).strip(
            " /"
        )
    return ""


def _open_log(path: Path) -> BinaryIO:
    if path.exists() and path.stat().st_size > _LOG_KEPT_BYTES:
        path.replace(path.with_suffix(".log.1"))
    return path.open("ab")
