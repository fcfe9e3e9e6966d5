"""Make and remove the keys of machines, and know a machine by its key."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from shared.errors import HardstandError
from shared.ids import new_id
from tracker.services import tokens
from tracker.services.actor import Machine, Scope
from tracker.services.context import Context
from tracker.store import machine_keys
from tracker.store.machine_keys import MachineKeyRow

PREFIX: Final = "hsk_"
"""Begins every key, so that one found in a file or a log is seen to be one."""


class KeyNameError(HardstandError):
    """A key's name is taken, empty or unknown; carries it."""

    def __init__(self, name: str, wrong: str) -> None:
        self.name = name
        super().__init__(wrong, remedy="`hardstand key list` shows all of them")


def add_key(
    context: Context, name: str, *, scopes: Collection[Scope], depots: Collection[str]
) -> str:
    """Make a key and return it. It is shown this once: only a digest is kept.

    Raises:
        KeyNameError: a key has this name already, or it is empty.
    """
    name = name.replace("\x00", "").strip()[:100]
    if not name:
        raise KeyNameError(name, "A key needs a name")
    key = PREFIX + tokens.new_token()
    row = MachineKeyRow(
        id=new_id(),
        name=name,
        digest=tokens.digest_of(context, "key", key),
        scopes=sorted(scope.value for scope in scopes),
        depots=sorted(depots),
        made_at=context.clock.now(),
    )
    with context.engine.begin() as connection:
        if any(other.name == name for other in machine_keys.list_all(connection)):
            raise KeyNameError(name, f"There is a key with the name {name!r} already")
        machine_keys.add(connection, row)
    return key


def find_machine(context: Context, key: str) -> Machine | None:
    """Return the machine that a key belongs to, None when there is no such key."""
    with context.engine.begin() as connection:
        row = machine_keys.find(connection, tokens.digest_of(context, "key", key))
    return None if row is None else _machine_of(row)


def list_keys(context: Context) -> list[Machine]:
    """Return all machines with a key, by name."""
    with context.engine.begin() as connection:
        return list(map(_machine_of, machine_keys.list_all(connection)))


def remove_key(context: Context, name: str) -> None:
    """Remove a key, with immediate effect.

    Raises:
        KeyNameError: there is no key with this name.
    """
    with context.engine.begin() as connection:
        if not machine_keys.remove(connection, name):
            raise KeyNameError(name, f"There is no key with the name {name!r}")


def _machine_of(row: MachineKeyRow) -> Machine:
    scopes = frozenset(map(Scope, row.scopes))
    return Machine(row.id, row.name, scopes, frozenset(row.depots))
