"""Make the roles and the database in a cluster; the tables in it are the migrations' matter."""

from __future__ import annotations

from typing import TYPE_CHECKING, LiteralString

import psycopg
from psycopg import sql

from deploy.errors import BootstrapError, ServiceError, ServiceSilentError
from shared import addresses
from shared.addresses import Role

if TYPE_CHECKING:
    from collections.abc import Mapping

    from psycopg import Connection

    from shared.addresses import DatabaseAddresses, Login
    from shared.settings import Settings

LEAST_VERSION = 160000
# Any number will do, as long as everybody who makes roles here takes the same.
_LOCK = 0x4841_5244

# Before tables exist: who may connect, and who may make temporary tables (for COPY).
_GRANTS: dict[Role, LiteralString] = {
    Role.WEB: "grant connect, temporary on database {database} to {role}",
    Role.WORKER: "grant connect, temporary on database {database} to {role}",
    Role.READER: "grant connect on database {database} to {role}",
}


def prepare(administrator_url: str, databases: DatabaseAddresses, settings: Settings) -> None:
    """Make the four roles and the database, or bring them up to date; may be called twice.

    Names and passwords are those in `databases`. Limits on time are set on the roles, so that
    they hold whatever program logs in as them. The owner has none: migrations take their time.

    Args:
        administrator_url: A role that may create roles and databases; the database that it names
            need not exist, `postgres` must.
        databases: The address that each role will use.
        settings: For the limits on time.

    Raises:
        ServiceError: The server cannot be reached, or is older than version 16.
        BootstrapError: The administrator lacks a right.
    """
    logins = {role: addresses.read_login(databases.of(role)) for role in Role}
    with _connect(administrator_url) as connection:
        try:
            connection.execute("select pg_advisory_lock(%s)", [_LOCK])
            for login in logins.values():
                _make_role(connection, login)
            _make_database(connection, logins)
            _limit(connection, logins, settings)
        except psycopg.errors.InsufficientPrivilege as error:
            raise BootstrapError(
                f"The administrator may not do that: {_first_line(error)}",
                expected="a role with CREATEROLE and CREATEDB, or a superuser",
                remedy="See HARDSTAND_DATABASE_URL in docs/settings.md",
            ) from error


def _connect(administrator_url: str) -> Connection:
    url = addresses.with_database(addresses.libpq_address(administrator_url), "postgres")
    try:
        connection = psycopg.connect(url, autocommit=True, connect_timeout=10)
    except psycopg.OperationalError as error:
        raise ServiceSilentError(
            f"PostgreSQL at {addresses.without_password(url)} cannot be reached: "
            f"{_first_line(error)}",
            remedy="Check HARDSTAND_DATABASE_URL, and that the server runs",
        ) from error
    if connection.info.server_version < LEAST_VERSION:
        version = connection.info.parameter_status("server_version")
        connection.close()
        raise ServiceError(f"PostgreSQL {version} is too old", expected="version 16 or later")
    return connection


def _make_role(connection: Connection, login: Login) -> None:
    name = sql.Identifier(login.user)
    known = connection.execute("select 1 from pg_roles where rolname = %s", [login.user]).fetchone()
    if known is None:
        connection.execute(sql.SQL("create role {}").format(name))
        # Needed to hand the database over; a superuser needs it not, and suffers it.
        connection.execute(sql.SQL("grant {} to current_user").format(name))
    rights = "login nocreatedb nocreaterole noinherit"
    connection.execute(sql.SQL("alter role {} with " + rights).format(name))
    if login.password:
        change = sql.SQL("alter role {} password {}")
        connection.execute(change.format(name, sql.Literal(login.password)))


def _make_database(connection: Connection, logins: Mapping[Role, Login]) -> None:
    owner = logins[Role.OWNER]
    query = "select pg_get_userbyid(datdba) from pg_database where datname = %s"
    found = connection.execute(query, [owner.database]).fetchone()
    names = {"database": sql.Identifier(owner.database), "owner": sql.Identifier(owner.user)}
    if found is None:
        # From template0, so that encoding and sorting do not depend on the cluster's template.
        make = "create database {database} owner {owner} encoding 'UTF8' template template0"
        connection.execute(sql.SQL(make).format(**names))
    elif found[0] != owner.user:
        connection.execute(sql.SQL("alter database {database} owner to {owner}").format(**names))
    connection.execute(sql.SQL("revoke all on database {database} from public").format(**names))
    for role, grant in _GRANTS.items():
        user = sql.Identifier(logins[role].user)
        connection.execute(sql.SQL(grant).format(database=names["database"], role=user))


def _limit(connection: Connection, logins: Mapping[Role, Login], settings: Settings) -> None:
    statement_s = {
        Role.WEB: settings.web_statement_timeout_s,
        Role.READER: settings.web_statement_timeout_s,
        Role.WORKER: settings.worker_statement_timeout_s,
    }
    for role, seconds in statement_s.items():
        limits = {
            "statement_timeout": seconds,
            "lock_timeout": settings.lock_timeout_s,
            "idle_in_transaction_session_timeout": settings.idle_in_transaction_timeout_s,
        }
        for name, limit_s in limits.items():
            change = sql.SQL("alter role {} set {} = {}").format(
                sql.Identifier(logins[role].user),
                sql.Identifier(name),
                sql.Literal(f"{round(limit_s * 1000)}ms"),
            )
            connection.execute(change)


def _first_line(error: Exception) -> str:
    return str(error).strip().partition("\n")[0]
