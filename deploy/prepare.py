"""Make roles, database and tables at the addresses given, or bring them up to date, and end.

`python -m deploy.prepare`, once before the processes of `deploy.process` start. Until the database
answers it fails, and may be called again; called twice it finds nothing to do.
"""

from __future__ import annotations

import sys

import structlog

from deploy import run
from shared import logs
from shared.errors import HardstandError
from shared.settings import load

log = structlog.get_logger()


def main() -> int:
    """Prepare the services that the settings name; return 1 when it cannot be done."""
    logs.configure("prepare")
    try:
        with run.prepared(load()):
            log.info("database.prepared")
    except HardstandError as fault:
        log.error("database.not_prepared", says=str(fault))  # noqa: TRY400 - a traceback says no more
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
