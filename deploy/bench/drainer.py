"""One process that drains all lanes until nothing waits: `python -m deploy.bench.drainer`."""

from __future__ import annotations

from shared import logs
from shared.clock import SystemClock
from shared.settings import load
from tracker.services.context import Context
from tracker.services.drain import drain
from tracker.store import intake
from tracker.store.engine import make_engine
from workers.means import spare_the_collector


def main() -> None:
    """Drain until there is no work left."""
    logs.configure("drainer", level="ERROR")
    settings = load()
    spare_the_collector()
    context = Context(make_engine(settings.databases().worker), settings, SystemClock())
    while True:
        with context.engine.begin() as connection:
            lanes = intake.lanes_waiting(connection)
        if not lanes:
            return
        for lane in lanes:
            drain(context, lane)


if __name__ == "__main__":
    main()
