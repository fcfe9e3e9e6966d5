"""Where the tests' PostgreSQL and Redis come from: addresses given, containers, or embedded."""

from __future__ import annotations

import contextlib
import os
import socket
import warnings
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import psycopg
from psycopg import sql

from deploy import bootstrap, embedded
from deploy.embedded import Wanted
from shared import addresses
from shared.addresses import DatabaseAddresses, Role
from shared.ids import new_id
from shared.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SECRET = "a secret that protects nothing but tests"
_TEMPLATE_LOCK = 0x5445_5354
_DOCKER_ANSWERS_WITHIN_S = 2


@dataclass(frozen=True, slots=True)
class TestServices:
    """The services of one test run; plain strings, so that they can be sent to its workers."""

    __test__ = False

    database_url: str = field(repr=False)
    redis_url: str = field(repr=False)
    run: str

    def to_dict(self) -> dict[str, str]:
        """Return the fields by name."""
        return asdict(self)

    @property
    def template(self) -> str:
        """The name of the migrated database that each test's own is copied from."""
        return f"test_{self.run}_template"

    def databases(self, name: str) -> DatabaseAddresses:
        """Return the four roles' addresses of the database `name`."""
        by_role = {
            role: addresses.with_login(
                addresses.sqlalchemy_address(self.database_url),
                role,
                addresses.derive_password(SECRET, self.database_url, role),
            )
            for role in Role
        }
        found = DatabaseAddresses(
            owner=by_role[Role.OWNER],
            web=by_role[Role.WEB],
            worker=by_role[Role.WORKER],
            reader=by_role[Role.READER],
        )
        return found.at_database(name)


@contextlib.contextmanager
def provide(folder: Path) -> Iterator[TestServices]:
    """Provide one PostgreSQL and one Redis for the whole test run.

    Taken from the first that applies: the addresses in HARDSTAND_TEST_DATABASE_URL and
    HARDSTAND_TEST_REDIS_URL; containers, if HARDSTAND_TEST_SERVICES says so or a Docker engine
    answers; embedded in `folder`, careless of power cuts.
    """
    database_url = os.environ.get("HARDSTAND_TEST_DATABASE_URL")
    redis_url = os.environ.get("HARDSTAND_TEST_REDIS_URL")
    choice = os.environ.get("HARDSTAND_TEST_SERVICES", "")
    with contextlib.ExitStack() as stack:
        if not (database_url and redis_url):
            in_containers = choice == "containers" or (choice == "" and _docker_answers())
            source = _containers() if in_containers else _embedded(folder)
            own_database_url, own_redis_url = stack.enter_context(source)
            database_url = database_url or own_database_url
            redis_url = redis_url or own_redis_url
        services = TestServices(database_url, redis_url, new_id().hex[-10:])
        stack.callback(_drop_databases, services)
        yield services


def make_template(services: TestServices) -> None:
    """Make the migrated template database, unless another worker of this run has done so."""
    with _administer(services) as connection:
        connection.execute("select pg_advisory_lock(%s)", [_TEMPLATE_LOCK])
        query = "select 1 from pg_database where datname = %s and datistemplate"
        if connection.execute(query, [services.template]).fetchone():
            return
        from tracker.store import schema  # noqa: PLC0415 - only who asks for tables pays

        databases = services.databases(services.template)
        bootstrap.prepare(services.database_url, databases, make_settings(databases))
        schema.upgrade(databases.owner)
        # Closed, since a template cannot be copied while somebody is connected to it.
        close = "alter database {} with is_template true allow_connections false"
        connection.execute(sql.SQL(close).format(sql.Identifier(services.template)))


@contextlib.contextmanager
def copy_template(services: TestServices, name: str) -> Iterator[DatabaseAddresses]:
    """Provide a database of one's own, copied from the template and dropped at the end."""
    names = {
        "name": sql.Identifier(name),
        "template": sql.Identifier(services.template),
        "owner": sql.Identifier(Role.OWNER),
    }
    # Twice as quick as the usual strategy while nothing waits for the disk.
    make = sql.SQL(
        "create database {name} template {template} owner {owner} strategy file_copy"
    ).format(**names)
    with _administer(services) as connection:
        connection.execute(make)
    try:
        yield services.databases(name)
    finally:
        with _administer(services) as connection:
            connection.execute(sql.SQL("drop database {name} with (force)").format(**names))


def make_settings(databases: DatabaseAddresses, **others: object) -> Settings:
    """Return settings that name each role's address and the tests' secret."""
    return Settings.model_validate(
        {
            "owner_database_url": databases.owner,
            "web_database_url": databases.web,
            "worker_database_url": databases.worker,
            "reader_database_url": databases.reader,
            "secret_key": SECRET,
        }
        | others
    )


def _administer(services: TestServices) -> psycopg.Connection:
    url = addresses.with_database(addresses.libpq_address(services.database_url), "postgres")
    return psycopg.connect(url, autocommit=True)


def _drop_databases(services: TestServices) -> None:
    pattern = f"test_{services.run}_%"
    with _administer(services) as connection:
        query = "select datname from pg_database where datname like %s"
        for (name,) in connection.execute(query, [pattern]).fetchall():
            plain = "alter database {} with is_template false"
            connection.execute(sql.SQL(plain).format(sql.Identifier(name)))
            connection.execute(
                sql.SQL("drop database {} with (force)").format(sql.Identifier(name))
            )


@contextlib.contextmanager
def _embedded(folder: Path) -> Iterator[tuple[str, str]]:
    with embedded.run(folder, Wanted(durable=False)) as found:
        yield found.database_url, found.redis_url


@contextlib.contextmanager
def _containers() -> Iterator[tuple[str, str]]:
    # Imported here: most machines have no engine, and the library warns at its import.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from testcontainers.postgres import PostgresContainer  # noqa: PLC0415 - see above
        from testcontainers.redis import RedisContainer  # noqa: PLC0415 - see above

        postgres = PostgresContainer("postgres:18-alpine", username="hardstand_admin", driver=None)
        with postgres.with_command("-c fsync=off"), RedisContainer("redis:7-alpine") as redis:
            host, port = redis.get_container_host_ip(), redis.get_exposed_port(6379)
            yield postgres.get_connection_url(), f"redis://{host}:{port}/0"


def _docker_answers() -> bool:
    where = urlsplit(os.environ.get("DOCKER_HOST", "unix:///var/run/docker.sock"))
    try:
        # Asked by hand: the library is slow to import and leaves its socket open on failure.
        if where.scheme == "unix":
            with socket.socket(socket.AF_UNIX) as connection:
                connection.settimeout(_DOCKER_ANSWERS_WITHIN_S)
                connection.connect(where.path)
                connection.sendall(b"GET /_ping HTTP/1.0\r\n\r\n")
                return b" 200 " in connection.recv(64)
        with socket.create_connection(
            (where.hostname, where.port or 2375), timeout=_DOCKER_ANSWERS_WITHIN_S
        ):
            return True
    except OSError:
        return False
