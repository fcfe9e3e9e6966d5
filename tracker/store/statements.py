"""The hot statements, each in a file of its own under `sql/`, and how rows go in bulk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from importlib import resources
from typing import Any, cast

import psycopg
from sqlalchemy import Connection


@cache
def sql(name: str) -> str:
    """Return the statement in `sql/<name>.sql`, with its comments, which PostgreSQL shows."""
    return (resources.files("tracker.store") / "sql" / f"{name}.sql").read_text(encoding="utf-8")


def rows(connection: Connection, name: str, **values: Any) -> list[Any]:  # noqa: ANN401 - whatever a driver takes
    """Return all rows of a named statement; the driver prepares it after a few times."""
    return list(connection.exec_driver_sql(sql(name), values))


def run(connection: Connection, name: str, **values: Any) -> None:  # noqa: ANN401 - whatever a driver takes
    """Run a named statement that gives no rows."""
    connection.exec_driver_sql(sql(name), values)


def copy_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Append rows to a table by COPY, in the transaction of `connection`.

    Args:
        connection: Whose transaction it is.
        table: A table's name, and `columns` its columns: never from outside.
        columns: In the order of each row's values.
        rows: May be empty; nothing is sent then.
    """
    waiting = list(rows)
    if not waiting:
        return
    driver = cast("psycopg.Connection[Any]", connection.connection.driver_connection)
    statement = f"COPY {table} ({', '.join(columns)}) FROM STDIN"
    with driver.cursor() as cursor, cursor.copy(statement) as copy:
        for row in waiting:
            copy.write_row(row)
