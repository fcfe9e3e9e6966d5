"""One process of the stack: `python -m deploy.process web|drain|slow|beat`, settings from outside.

Here each process gets its means, and nothing but its means.
"""

from __future__ import annotations

import contextlib
import socket
import sys
from datetime import timedelta
from enum import StrEnum
from typing import assert_never

import redis
import uvicorn
from typing_extensions import override

from shared import logs
from shared.addresses import Role
from shared.clock import SystemClock
from shared.settings import Settings, load
from tracker.announce import LaneAnnouncer
from tracker.services.context import Context
from tracker.store.engine import make_engine
from tracker.web.app import create_app
from tracker.web.waiting import VerdictWaiter
from workers.app import DRAIN_QUEUE, SLOW_QUEUE, create_celery
from workers.means import spare_the_collector
from workers.watch import Watch


class Part(StrEnum):
    """The processes of the stack.

    WEB answers requests. DRAIN gives verdicts. SLOW sweeps, makes rounds, sends mail. BEAT says
    when; one of it is enough, and two do no harm.
    """

    WEB = "web"
    DRAIN = "drain"
    SLOW = "slow"
    BEAT = "beat"


def main() -> None:
    """Run the part named on the command line until a signal ends it."""
    part = Part(sys.argv[1])
    logs.configure(part.value)
    settings = load()
    match part:
        case Part.WEB:
            run_web(settings)
        case Part.DRAIN:
            _run_worker(settings, DRAIN_QUEUE, children=settings.drain_processes)
        case Part.SLOW:
            _run_worker(settings, SLOW_QUEUE, children=1)
        case Part.BEAT:
            _run_beat(settings)
        case _:
            assert_never(part)


def run_web(settings: Settings) -> None:
    """Serve pages and API until a signal ends it; requests under way are finished first."""
    broker = redis.Redis.from_url(
        str(settings.redis_url), socket_timeout=1, socket_connect_timeout=1
    )
    announcer = LaneAnnouncer(create_celery(settings), broker)
    announcer.start()
    engine = make_engine(settings.database_of(Role.WEB), pool_size=20, name="hardstand-web")
    context = Context(engine, settings, SystemClock(), announcer)
    app = create_app(context, ping_broker=lambda: _answers(broker))
    config = uvicorn.Config(
        app,
        host=settings.web_host,
        port=settings.web_port,
        log_config=None,
        access_log=False,
        server_header=False,
        forwarded_allow_ips=settings.web_proxies,
        timeout_graceful_shutdown=10,
    )
    server = WebServer(config, app.state.means.waiter)
    spare_the_collector()
    try:
        with contextlib.suppress(KeyboardInterrupt):
            server.run()
    finally:
        announcer.stop()
    if not server.started:
        sys.exit(1)


class WebServer(uvicorn.Server):
    """Finishes what is under way when told to end; whoever waits for a verdict waits no longer."""

    def __init__(self, config: uvicorn.Config, waiter: VerdictWaiter) -> None:
        super().__init__(config)
        self._waiter = waiter

    @override
    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        # They would keep the process up to a minute, and be cut off in the end.
        self._waiter.let_go()
        await super().shutdown(sockets)


def _answers(broker: redis.Redis) -> bool:
    try:
        return bool(broker.ping())
    except redis.RedisError:
        return False


def _watch(settings: Settings, queue: str) -> None:
    broker = redis.Redis.from_url(
        str(settings.redis_url), socket_timeout=2, socket_connect_timeout=2
    )
    Watch(broker, queue, timedelta(seconds=settings.worker_deaf_after_s)).start()


def _run_worker(settings: Settings, queue: str, *, children: int) -> None:
    _watch(settings, queue)
    create_celery(settings).worker_main(
        [
            "--quiet",
            "worker",
            f"--queues={queue}",
            f"--concurrency={children}",
            f"--hostname={queue}@%h",
            "--without-gossip",
            "--without-mingle",
            "--loglevel=WARNING",
        ]
    )


def _run_beat(settings: Settings) -> None:
    # It alone of the processes keeps a file there from its start, and would end without.
    settings.home.mkdir(parents=True, exist_ok=True)
    create_celery(settings).start(["--quiet", "beat", "--loglevel=WARNING", "--pidfile="])


if __name__ == "__main__":
    main()
