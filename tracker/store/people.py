"""What is said about people, apart from the history, so that it can be forgotten.

A value stands here once, under a token: a keyed digest of a salt of its own and the value. The
history holds the token. Deleting the row forgets the value and breaks no chain; the same value
said again later gets a new salt and so a new token.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Collection, Iterable
from typing import Any, Final

from sqlalchemy import Connection, delete

from tracker.store import statements
from tracker.store.tables import PERSONAL_VALUES

PREFIX: Final = "person:"
"""Begins every token; what begins so in a history is one."""

FORGOTTEN: Final = "(forgotten)"


def _keyed(key: bytes, purpose: bytes, value: bytes) -> bytes:
    return hmac.digest(key, purpose + b"\x00" + value, hashlib.sha256)


def tokens_for(connection: Connection, key: bytes, values: Collection[str]) -> dict[str, str]:
    """Return the token of each value, making those that are new.

    Safe side by side: of two makers of one value, both get the token of the first.
    """
    if not values:
        return {}
    lookups = {_keyed(key, b"lookup", value.encode()): value for value in values}
    tokens = _find(connection, lookups)
    missing = {look: value for look, value in lookups.items() if value not in tokens}
    if missing:
        _insert(connection, key, missing)
        tokens |= _find(connection, missing)
    return tokens


def _insert(connection: Connection, key: bytes, missing: dict[bytes, str]) -> None:
    salts = [secrets.token_bytes(16) for _ in missing]
    values = list(missing.values())
    statements.run(
        connection,
        "insert_personal_values",
        tokens=[
            PREFIX + _keyed(key, salt, value.encode())[:16].hex()
            for salt, value in zip(salts, values, strict=True)
        ],
        lookups=list(missing),
        salts=salts,
        values=values,
    )


def _find(connection: Connection, lookups: dict[bytes, str]) -> dict[str, str]:
    found = connection.exec_driver_sql(
        "SELECT lookup, token FROM personal_values WHERE lookup = ANY(%s::bytea[])",
        (list(lookups),),
    )
    return {lookups[row.lookup]: row.token for row in found}


def reveal(connection: Connection, said: Any) -> Any:  # noqa: ANN401 - any JSON in, the same out
    """Return JSON with every token in it replaced by its value, or by `(forgotten)`."""
    tokens = set(_tokens_in(said))
    if not tokens:
        return said
    found = statements.rows(connection, "values_of", tokens=list(tokens))
    return _with_values(said, dict(found))


def forget(connection: Connection, key: bytes, value: str) -> bool:
    """Forget a value with its salt; return whether it was known."""
    lookup = _keyed(key, b"lookup", value.encode())
    found = connection.execute(delete(PERSONAL_VALUES).where(PERSONAL_VALUES.c.lookup == lookup))
    return found.rowcount > 0


def _tokens_in(said: Any) -> Iterable[str]:  # noqa: ANN401 - any JSON
    if isinstance(said, str):
        if said.startswith(PREFIX):
            yield said
    elif isinstance(said, dict):
        for value in said.values():
            yield from _tokens_in(value)
    elif isinstance(said, list):
        for value in said:
            yield from _tokens_in(value)


def _with_values(said: Any, values: dict[str, str]) -> Any:  # noqa: ANN401 - any JSON in, the same out
    if isinstance(said, str):
        return values.get(said, FORGOTTEN) if said.startswith(PREFIX) else said
    if isinstance(said, dict):
        return {name: _with_values(value, values) for name, value in said.items()}
    if isinstance(said, list):
        return [_with_values(value, values) for value in said]
    return said
