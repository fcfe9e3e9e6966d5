"""Make roles, database and tables at the addresses given, or bring them up to date, and end.

`python -m deploy.prepare`, once before the processes of `deploy.process` start; called twice it
finds nothing to do. While a service does not answer it fails, or waits with `--wait`: what is to
start after it would not be started any more once it has failed.
"""

from __future__ import annotations

import argparse
import sys
import time
from typing import Final

import structlog

from deploy import run
from deploy.errors import ServiceSilentError
from shared import logs
from shared.errors import HardstandError
from shared.settings import load

log = structlog.get_logger()


_PAUSE_S: Final = 2


def main(words: list[str] | None = None) -> int:
    """Prepare the services that the settings name; return 1 when it cannot be done."""
    parser = argparse.ArgumentParser(prog="python -m deploy.prepare", description=__doc__)
    parser.add_argument("--wait", action="store_true", help="until the services answer")
    waits = parser.parse_args(words).wait
    logs.configure("prepare")
    try:
        while not _prepare(waits=waits):
            time.sleep(_PAUSE_S)
    except HardstandError as fault:
        log.error("database.not_prepared", says=str(fault))  # noqa: TRY400 - a traceback says no more
        return 1
    return 0


def _prepare(*, waits: bool) -> bool:
    """Prepare once; return whether it was done, False only for a service that is waited for."""
    try:
        with run.prepared(load()):
            log.info("database.prepared")
    except ServiceSilentError as fault:
        if not waits:
            raise
        log.warning("service.awaited", says=str(fault))
        return False
    return True


if __name__ == "__main__":
    sys.exit(main())
