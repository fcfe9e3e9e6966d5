"""One process that drains all lanes until nothing waits: `python -m deploy.bench.drainer`.

It says `ready` once it could begin, begins when it is told to by a line, and says in the end how
many seconds of the processor it used.
"""

from __future__ import annotations

import sys
import time

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
    with context.engine.begin() as connection:
        context.rulebook(connection)
    _say("ready")
    sys.stdin.readline()
    begun = time.process_time()
    _drain_all(context)
    _say(str(time.process_time() - begun))


def _drain_all(context: Context) -> None:
    while True:
        with context.engine.begin() as connection:
            lanes = intake.lanes_waiting(connection)
        if not lanes:
            return
        for lane in lanes:
            drain(context, lane)


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
