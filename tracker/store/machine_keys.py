"""The keys of machines. Only a digest of each key is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select

from tracker.store.tables import MACHINE_KEYS


@dataclass(frozen=True, slots=True)
class MachineKeyRow:
    """One key: what it opens, and for which depots (`*` for all)."""

    id: UUID
    name: str
    digest: bytes
    scopes: list[str]
    depots: list[str]
    made_at: datetime


def add(connection: Connection, row: MachineKeyRow) -> None:
    """Add a key; fails by name when its name is taken."""
    values = {name: getattr(row, name) for name in MachineKeyRow.__slots__}
    connection.execute(insert(MACHINE_KEYS).values(**values))


def find(connection: Connection, digest: bytes) -> MachineKeyRow | None:
    """Return the key with this digest, if there is one."""
    found = connection.execute(select(MACHINE_KEYS).where(MACHINE_KEYS.c.digest == digest))
    row = found.one_or_none()
    return None if row is None else MachineKeyRow(*row)


def list_all(connection: Connection) -> list[MachineKeyRow]:
    """Return all keys by name."""
    found = connection.execute(select(MACHINE_KEYS).order_by(MACHINE_KEYS.c.name))
    return [MachineKeyRow(*row) for row in found]


def remove(connection: Connection, name: str) -> bool:
    """Remove a key by its name, with immediate effect; return whether there was one."""
    found = connection.execute(delete(MACHINE_KEYS).where(MACHINE_KEYS.c.name == name))
    return found.rowcount > 0
