"""The hot statements, each in a file of its own under `sql/`, and how rows go in bulk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from importlib import resources
from typing import Any, cast

import psycopg
from psycopg.rows import namedtuple_row
from sqlalchemy import Connection


@cache
def sql(name: str) -> str:
    """Return the statement in `sql/<name>.sql`, with its comments, which PostgreSQL shows."""
    return (resources.files("tracker.store") / "sql" / f"{name}.sql").read_text(encoding="utf-8")


def rows(connection: Connection, name: str, **values: Any) -> list[Any]:  # noqa: ANN401 - whatever a driver takes
    """Return all rows of a named statement, as named tuples.

    Goes past SQLAlchemy to the driver, which prepares the statement after a few times and reads
    binary rows. So do its errors: they are psycopg's own.
    """
    with _driver(connection).cursor(row_factory=namedtuple_row, binary=True) as cursor:
        return cursor.execute(sql(name), values).fetchall()


def run(connection: Connection, name: str, **values: Any) -> None:  # noqa: ANN401 - whatever a driver takes
    """Run a named statement that gives no rows; its errors are psycopg's own."""
    with _driver(connection).cursor() as cursor:
        cursor.execute(sql(name), values)


def copy_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Append rows to a table by COPY, in the transaction of `connection`.

    Args:
        connection: Whose transaction it is.
        table: A table's name, and `columns` its columns: never from outside.
        columns: In the order of each row's values.
        rows: May be empty; nothing is sent then. Text may stand for any type: PostgreSQL reads it.
    """
    waiting = list(rows)
    if not waiting:
        return
    statement = f"COPY {table} ({', '.join(columns)}) FROM STDIN"
    with _driver(connection).cursor() as cursor, cursor.copy(statement) as copy:
        for row in waiting:
            copy.write_row(row)


def _driver(connection: Connection) -> psycopg.Connection[Any]:
    return cast("psycopg.Connection[Any]", connection.connection.driver_connection)
