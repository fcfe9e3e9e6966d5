"""Make and change the accounts of people. Asks nobody whether they may: its callers do."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final

from sqlalchemy import Connection

from shared.errors import HardstandError
from shared.ids import new_id
from tracker.services import passwords
from tracker.services.actor import EVERY_DEPOT, Grant, Person, Role
from tracker.services.context import Context
from tracker.services.sign_in import person_of, plain_name
from tracker.store import accounts, sessions, subjects
from tracker.store.accounts import AccountRow

_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._@+-]{0,99}")
_DEPOT: Final = re.compile(r"[A-Z0-9][A-Z0-9-]{1,15}|\*")


class AccountError(HardstandError):
    """The base of what can be wrong with an account."""


class AccountNameError(AccountError):
    """A text is no sign-in name; carries it."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"{name!r} is no sign-in name",
            expected="1 to 100 small letters, digits, dots, hyphens or an address of mail",
        )


class AccountTakenError(AccountError):
    """A sign-in name is taken; carries it."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"There is an account with the name {name!r} already",
            expected="a name of its own for each person",
        )


class AccountUnknownError(AccountError):
    """Nobody has this sign-in name; carries it."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"There is no account with the name {name!r}",
            remedy="`hardstand account list` shows all of them",
        )


class GrantError(AccountError):
    """A text names no role at a depot; carries it."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no role at a depot",
            expected=f"DEPOT:ROLE, such as NORTH:gate or {EVERY_DEPOT}:manager; the roles are "
            + ", ".join(Role),
        )


def parse_grant(text: str) -> Grant:
    """Read a role at a depot, such as `NORTH:gate` or `*:manager`; raises `GrantError`."""
    depot, _, role = text.partition(":")
    if not _DEPOT.fullmatch(depot) or role not in list(Role):
        raise GrantError(text)
    return Grant(depot, Role(role))


def add_account(
    context: Context, name: str, *, shown_as: str, password: str, grants: Collection[Grant]
) -> Person:
    """Make an account.

    Raises:
        AccountNameError: the name is no sign-in name.
        AccountTakenError: somebody has it already.
        PasswordError: the password is too short or too long.
    """
    name = plain_name(name)
    if not _NAME.fullmatch(name):
        raise AccountNameError(name)
    kept = passwords.hash_password(password)
    roles = tuple(sorted((grant.depot, grant.role.value) for grant in grants))
    shown_as = shown_as.replace("\x00", "").strip()[:200] or name
    row = AccountRow(new_id(), name, shown_as, kept, context.clock.now(), roles)
    with context.engine.begin() as connection:
        if accounts.find_by_name(connection, name):
            raise AccountTakenError(name)
        accounts.add(connection, row)
    return person_of(row)


def list_accounts(context: Context) -> list[Person]:
    """Return all people with an account, by sign-in name."""
    with context.engine.begin() as connection:
        return list(map(person_of, accounts.list_all(connection)))


def set_password(context: Context, name: str, password: str) -> int:
    """Give an account a new password and end its sessions; return how many ended.

    Raises:
        AccountUnknownError: there is no such account.
        PasswordError: the password is too short or too long.
    """
    kept = passwords.hash_password(password)
    with context.engine.begin() as connection:
        account = _get(connection, name)
        accounts.set_password(connection, account.id, kept)
        return sessions.end_all_of(connection, account.id)


def set_grants(context: Context, name: str, grants: Collection[Grant]) -> None:
    """Let a person have exactly these roles, from their next request on.

    Raises:
        AccountUnknownError: there is no such account.
    """
    with context.engine.begin() as connection:
        account = _get(connection, name)
        roles = [(grant.depot, grant.role.value) for grant in grants]
        accounts.set_roles(connection, account.id, roles)


def end_sessions(context: Context, name: str) -> int:
    """End all sessions of a person, wherever they are signed in; return how many there were.

    Raises:
        AccountUnknownError: there is no such account.
    """
    with context.engine.begin() as connection:
        return sessions.end_all_of(connection, _get(connection, name).id)


def unlink(context: Context, name: str) -> int:
    """Forget whom an OpenID provider knows as this person; return how many links there were.

    Raises:
        AccountUnknownError: there is no such account.
    """
    with context.engine.begin() as connection:
        account = _get(connection, name)
        sessions.end_all_of(connection, account.id)
        return subjects.unlink(connection, account.id)


def _get(connection: Connection, name: str) -> AccountRow:
    account = accounts.find_by_name(connection, plain_name(name))
    if account is None:
        raise AccountUnknownError(name)
    return account
