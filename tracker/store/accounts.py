"""The accounts of people, with their roles per depot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Row, delete, insert, select, update

from tracker.store.tables import ACCOUNT_ROLES, ACCOUNTS


@dataclass(frozen=True, slots=True)
class AccountRow:
    """One account. `password` is an argon2 hash; without one nobody signs in by it."""

    id: UUID
    name: str
    shown_as: str
    password: str | None
    made_at: datetime
    roles: tuple[tuple[str, str], ...] = ()
    """Pairs of depot and role, sorted."""


def add(connection: Connection, row: AccountRow) -> None:
    """Add an account with its roles; fails by name when the sign-in name is taken."""
    connection.execute(
        insert(ACCOUNTS).values(
            id=row.id,
            name=row.name,
            shown_as=row.shown_as,
            password=row.password,
            made_at=row.made_at,
        )
    )
    set_roles(connection, row.id, row.roles)


def set_roles(connection: Connection, account_id: UUID, roles: Iterable[tuple[str, str]]) -> None:
    """Let an account have exactly these pairs of depot and role."""
    connection.execute(delete(ACCOUNT_ROLES).where(ACCOUNT_ROLES.c.account_id == account_id))
    rows = [
        {"account_id": account_id, "depot": depot, "role": role} for depot, role in sorted(roles)
    ]
    if rows:
        connection.execute(insert(ACCOUNT_ROLES), rows)


def set_password(connection: Connection, account_id: UUID, password: str) -> None:
    """Keep a new hash for an account."""
    connection.execute(
        update(ACCOUNTS).where(ACCOUNTS.c.id == account_id).values(password=password)
    )


def find_by_name(connection: Connection, name: str) -> AccountRow | None:
    """Return the account with this sign-in name, in small letters, if there is one."""
    return _find(connection, ACCOUNTS.c.name == name)


def find(connection: Connection, account_id: UUID) -> AccountRow | None:
    """Return an account by its id, if there is one."""
    return _find(connection, ACCOUNTS.c.id == account_id)


def list_all(connection: Connection) -> list[AccountRow]:
    """Return all accounts by name."""
    roles: dict[UUID, list[tuple[str, str]]] = {}
    for row in connection.execute(select(ACCOUNT_ROLES)):
        roles.setdefault(row.account_id, []).append((row.depot, row.role))
    return [
        _row(row, sorted(roles.get(row.id, ())))
        for row in connection.execute(select(ACCOUNTS).order_by(ACCOUNTS.c.name))
    ]


def _find(connection: Connection, which: ColumnElement[bool]) -> AccountRow | None:
    row = connection.execute(select(ACCOUNTS).where(which)).one_or_none()
    if row is None:
        return None
    roles = connection.execute(
        select(ACCOUNT_ROLES.c.depot, ACCOUNT_ROLES.c.role)
        .where(ACCOUNT_ROLES.c.account_id == row.id)
        .order_by(ACCOUNT_ROLES.c.depot, ACCOUNT_ROLES.c.role)
    )
    return _row(row, [(depot, role) for depot, role in roles])


def _row(row: Row[Any], roles: Iterable[tuple[str, str]]) -> AccountRow:
    return AccountRow(row.id, row.name, row.shown_as, row.password, row.made_at, tuple(roles))
