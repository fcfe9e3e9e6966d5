"""What recording costs the machine: processor time, write-ahead log, and room in tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import psutil
from sqlalchemy import Connection, text

from deploy.bench.bench_house import House
from deploy.bench.rows import Row

_OF_EVENTS = ("history", "receipts")
_OF_UNITS = ("records", "heads", "marks")
_WAL = text("SELECT pg_wal_lsn_diff(pg_current_wal_insert_lsn(), '0/0')")
_COUNTS = text("SELECT (SELECT count(*) FROM history), (SELECT count(*) FROM records)")
_ROOM = text(
    "SELECT sum(pg_table_size(name::regclass)), sum(pg_indexes_size(name::regclass))"
    " FROM unnest(CAST(:names AS text[])) AS name"
)


@dataclass(frozen=True, slots=True)
class Spent:
    """Processor seconds of the server, and bytes of its write-ahead log."""

    server_s: float
    wal_bytes: int

    def since(self, before: Spent) -> Spent:
        """Return what was spent since then."""
        return Spent(
            self.server_s - before.server_s,
            self.wal_bytes - before.wal_bytes,
        )


def spent(house: House) -> Spent:
    """Return what has been spent up to now; the server must run on this machine."""
    with house.admin_engine().connect() as connection:
        wal = int(connection.execute(_WAL).scalar_one())
        server_s = _server_seconds(connection)
    return Spent(server_s, wal)


def rows_about(turns: Sequence[Spent], events: int) -> list[Row]:
    """Return the rows about what draining `events` cost, the median of several turns."""
    server_s = median(turn.server_s for turn in turns)
    wal_bytes = median(turn.wal_bytes for turn in turns)
    return [
        Row("processor time of PostgreSQL, per event", server_s / events * 1e6, "µs"),
        Row("write-ahead log, per event", wal_bytes / events, "bytes"),
    ]


def room_rows(house: House) -> list[Row]:
    """Return the rows about the room that what was recorded takes."""
    with house.admin_engine().connect() as connection:
        events, units = connection.execute(_COUNTS).one()
        table, index = _room(connection, _OF_EVENTS)
        unit_table, unit_index = _room(connection, _OF_UNITS)
    return [
        Row("room in tables, per event", table / events, "bytes"),
        Row("room in indexes, per event", index / events, "bytes"),
        Row("room of its record in tables, per unit", unit_table / units, "bytes"),
        Row("room of its record in indexes, per unit", unit_index / units, "bytes"),
    ]


def _server_seconds(connection: Connection) -> float:
    """Return what the server and all its processes used, those that have ended included."""
    backend = psutil.Process(connection.execute(text("SELECT pg_backend_pid()")).scalar_one())
    server = backend.parent()
    if server is None:
        raise RuntimeError("the server does not run on this machine")
    used = sum(map(_used_by, server.children()))
    # Asked last: what ended meanwhile counts among its children.
    own = server.cpu_times()
    return used + sum((own.user, own.system, own.children_user, own.children_system))


def _used_by(process: psutil.Process) -> float:
    try:
        times = process.cpu_times()
    except psutil.NoSuchProcess:
        return 0.0
    return float(times.user + times.system)


def _room(connection: Connection, names: tuple[str, ...]) -> tuple[int, int]:
    table, index = connection.execute(_ROOM, {"names": list(names)}).one()
    return int(table), int(index)
