"""The engine of a process, made once at its composition root and handed down."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, create_engine


def make_engine(url: str, *, pool_size: int = 5, name: str = "hardstand") -> Engine:
    """Return an engine for the address of one role.

    `name` is what PostgreSQL shows for its connections. Connections are tried before use, so that
    a restarted server costs one more round trip and no failed request. Errors name no values:
    what people are called does not belong into logs.
    """
    return create_engine(
        url,
        pool_size=pool_size,
        max_overflow=pool_size,
        pool_pre_ping=True,
        hide_parameters=True,
        connect_args={"application_name": name, "connect_timeout": 5},
    )


@contextmanager
def one_moment(engine: Engine) -> Iterator[Connection]:
    """Provide a transaction whose statements all see the same moment, whatever commits meanwhile.

    For what takes several reads: an event that a drain moves from the intake to a history between
    two of them would be in neither.
    """
    with (
        engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection,
        connection.begin(),
    ):
        yield connection
