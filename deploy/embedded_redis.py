"""Redis in the data folder: started, stopped; keeps nothing, as it carries announcements only."""

from __future__ import annotations

import signal
import socket
from typing import TYPE_CHECKING

from deploy import accounts, binaries, server_process
from deploy.errors import EmbeddedError
from deploy.server_process import Launch

if TYPE_CHECKING:
    import psutil

    from deploy.embedded_home import Home

_START_S = 20
_ANSWER_S = 2
# It has nothing to lose.
_STOP = ((signal.SIGTERM, 5.0), (signal.SIGKILL, 5.0))


def address(home: Home) -> str:
    """Return the server's address, for logical database 0."""
    return f"unix://{home.redis_socket}?db=0"


def answers(home: Home) -> bool:
    """Tell whether the server answers."""
    # Asked by hand: the library leaves its socket open when nobody listens.
    with socket.socket(socket.AF_UNIX) as connection:
        connection.settimeout(_ANSWER_S)
        try:
            connection.connect(str(home.redis_socket))
            connection.sendall(b"PING\r\n")
            return connection.recv(16).startswith(b"+PONG")
        except OSError:
            return False


def start(home: Home) -> psutil.Popen:
    """Start the server and return once it answers; whoever calls holds the home's lock.

    Raises:
        EmbeddedError: It cannot be started.
    """
    _clear_the_way(home)
    program = binaries.redis_server()
    launch = Launch(
        name="Redis",
        command=[program, *_options(home)],
        account=home.account,
        past=accounts.closed_to(home.account, program=program, folders=[home.redis, home.sockets]),
        stop_signal=signal.SIGTERM,
        log=home.logs / "redis.log",
    )
    process = server_process.start(launch, folder=home.redis)
    server_process.wait_until(lambda: answers(home), process, launch, within_s=_START_S)
    return process


def stop(process: psutil.Process) -> None:
    """Stop the server.

    Raises:
        EmbeddedError: It does not stop.
    """
    server_process.stop(process, _STOP)


def find(home: Home) -> psutil.Process | None:
    """Return the server that this home's process number names, whoever started it."""
    pid_file = home.redis / "redis.pid"
    return server_process.find(pid_file, program="redis-server", says=str(home.redis_socket))


def _options(home: Home) -> list[str]:
    options = {
        "port": "0",
        "unixsocket": str(home.redis_socket),
        "unixsocketperm": "700",
        "dir": str(home.redis),
        "pidfile": str(home.redis / "redis.pid"),
        "daemonize": "no",
        "appendonly": "no",
        "save": "",
        # An announcement thrown away for want of memory would look like one never made.
        "maxmemory-policy": "noeviction",
        "databases": "16",
    }
    return [part for name, value in options.items() for part in (f"--{name}", value)]


def _clear_the_way(home: Home) -> None:
    way = home.redis_socket
    if way.is_socket():
        way.unlink()
    elif way.exists():
        raise EmbeddedError(
            f"{way} is in the way of Redis's socket",
            expected="no file there",
            remedy="Move it elsewhere",
        )
