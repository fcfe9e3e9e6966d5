"""Keep the embedded servers up, with roles and a database, for work with PostgreSQL's own tools.

`python -m deploy.servers_only`, until Ctrl-C. It makes roles and database where there are none, but
no tables, so that a backup can be restored into what it makes; and it starts no process of ours,
so that nobody hands in or judges meanwhile. At servers of one's own it makes roles and database,
and ends.
"""

from __future__ import annotations

import contextlib
import sys
import time

import structlog

from deploy import binaries, services
from deploy.services import Addresses
from shared import logs
from shared.errors import HardstandError
from shared.settings import load

log = structlog.get_logger()

_BREATH_S = 1


def main() -> int:
    """Provide the services that the settings name; return 1 when that cannot be done."""
    logs.configure("servers")
    try:
        with services.provide(load()) as addresses, contextlib.suppress(KeyboardInterrupt):
            _stay(addresses)
    except HardstandError as fault:
        log.error("servers.not_up", says=str(fault))  # noqa: TRY400 - a traceback says no more
        return 1
    return 0


def _stay(addresses: Addresses) -> None:
    if not addresses.started_here:
        # Its address may hold a password, and whoever gave it knows it.
        log.info("servers.not_ours", says="roles and database are there; others keep the server up")
        return
    tools = str(binaries.postgres_folder())
    log.info("servers.up", administrator=addresses.database_url, tools=tools)
    while True:
        time.sleep(_BREATH_S)
        addresses.revive()


if __name__ == "__main__":
    sys.exit(main())
