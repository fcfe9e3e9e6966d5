"""A private database on the embedded servers for one measurement, gone afterwards."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import LiteralString

import psycopg
import redis
from psycopg import sql
from sqlalchemy import Engine, create_engine

from deploy import bootstrap
from deploy.services import Addresses
from shared import addresses as spelling
from shared.addresses import DatabaseAddresses
from shared.clock import SystemClock
from shared.settings import Settings
from tracker.announce import LaneAnnouncer
from tracker.services.context import Context
from tracker.store import intake, schema
from tracker.store.engine import make_engine
from workers.app import create_celery

_LOOK_EVERY_S = 0.05
"""Seldom enough to cost nothing, often enough to be no part of what is measured."""


@dataclass(frozen=True, slots=True)
class House:
    """One private database, with contexts for the web's and the workers' roles."""

    databases: DatabaseAddresses
    settings: Settings
    web: Context
    worker: Context

    def wait_until_drained(self, lane: int | None = None) -> None:
        """Return when nothing waits any more, or nothing in a lane."""
        while True:
            with self.web.engine.begin() as connection:
                waiting = intake.lanes_waiting(connection)
            if not waiting or (lane is not None and lane not in waiting):
                return
            time.sleep(_LOOK_EVERY_S)

    @contextlib.contextmanager
    def announcing(self) -> Iterator[Context]:
        """Provide the web's context with an announcer, as the web process has one."""
        with redis.Redis.from_url(str(self.settings.redis_url), socket_timeout=1) as client:
            announcer = LaneAnnouncer(create_celery(self.settings), client)
            announcer.start()
            yield replace(self.web, announcer=announcer)
            announcer.stop()

    def admin_engine(self) -> Engine:
        """Return an engine of the administrator, who may fill tables; the caller disposes it."""
        return create_engine(spelling.sqlalchemy_address(str(self.settings.database_url)))

    def forget_pools(self) -> None:
        """Close all connections, so that others may copy or drop the database."""
        self.web.engine.dispose()
        self.worker.engine.dispose()


@contextlib.contextmanager
def house(services: Addresses, name: str, *, template: str | None = None) -> Iterator[House]:
    """Make a database, migrated or copied from a template, and drop it in the end."""
    administrator = str(services.database_url)
    _run(administrator, "DROP DATABASE IF EXISTS {} WITH (FORCE)", name)
    settings = services.settings.changed(
        database_url=spelling.with_database(administrator, name),
        redis_url=spelling.with_redis_database(services.redis_url, 9),
    )
    databases = settings.databases()
    if template is not None:
        _run(administrator, "CREATE DATABASE {} TEMPLATE {}", name, template)
    bootstrap.prepare(str(settings.database_url), databases, settings)
    schema.upgrade(databases.owner)
    try:
        yield House(
            databases,
            settings,
            Context(make_engine(databases.web), settings, SystemClock()),
            Context(make_engine(databases.worker), settings, SystemClock()),
        )
    finally:
        _run(administrator, "DROP DATABASE IF EXISTS {} WITH (FORCE)", name)


def _run(administrator: str, statement: LiteralString, *names: str) -> None:
    address = spelling.with_database(spelling.libpq_address(administrator), "postgres")
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))
