"""A manager's care of the accounts of people: made, changed and closed within their own depots.

`accounts` does it; this says whether they may. A manager gives and takes roles at the depots they
manage, and touches nobody whose roles reach further than theirs. Nobody closes or changes their own
roles, so that a house is never left without somebody who can.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from shared.errors import HardstandError
from tracker.services import accounts
from tracker.services.actor import EVERY_DEPOT, Grant, Person, Role
from tracker.services.context import Context

_ONESELF: Final = "Your own roles are changed by another manager"


class NotTheirsError(HardstandError):
    """An account or a role is not the manager's to change."""

    def __init__(self, wrong: str) -> None:
        super().__init__(
            wrong,
            expected="people and roles at depots that you manage",
            remedy="Ask a manager of all depots, or whoever runs the machine",
        )


def manages(manager: Person, depot: str) -> bool:
    """Say whether somebody is manager at a depot; of `*`, whether at all of them."""
    return Role.MANAGER in manager.roles_at(depot)


def may_change(manager: Person, other: Person) -> bool:
    """Say whether all that an account may do lies within what the manager manages."""
    return all(manages(manager, grant.depot) for grant in other.grants)


def list_people(context: Context, manager: Person) -> list[Person]:
    """Return the people who have a role at a depot that the manager manages, or none at all."""
    return [
        person
        for person in accounts.list_accounts(context)
        if not person.grants
        or manages(manager, EVERY_DEPOT)
        or any(manages(manager, grant.depot) for grant in person.grants)
    ]


def add_person(
    context: Context,
    manager: Person,
    name: str,
    *,
    shown_as: str,
    password: str,
    grants: Collection[Grant],
) -> Person:
    """Make an account.

    Raises:
        NotTheirsError: a role is at a depot that the manager does not manage.
        AccountError, PasswordError: as `accounts.add_account`.
    """
    _check_grants(manager, grants)
    return accounts.add_account(context, name, shown_as=shown_as, password=password, grants=grants)


def set_grants(context: Context, manager: Person, name: str, grants: Collection[Grant]) -> None:
    """Let a person have exactly these roles.

    Raises:
        NotTheirsError: the account or a role is not the manager's to change, or it is their own.
        AccountUnknownError: there is no such account.
    """
    if _get(context, manager, name).id == manager.id:
        raise NotTheirsError(_ONESELF)
    _check_grants(manager, grants)
    accounts.set_grants(context, name, grants)


def set_password(context: Context, manager: Person, name: str, password: str) -> int:
    """Give a person a new password and end their sessions; return how many ended.

    Raises:
        NotTheirsError: the account is not the manager's to change.
        AccountUnknownError, PasswordError: as `accounts.set_password`.
    """
    _get(context, manager, name)
    return accounts.set_password(context, name, password)


def end_sessions(context: Context, manager: Person, name: str) -> int:
    """End all sessions of a person; return how many there were.

    Raises:
        NotTheirsError: the account is not the manager's to change.
        AccountUnknownError: there is no such account.
    """
    _get(context, manager, name)
    return accounts.end_sessions(context, name)


def close(context: Context, manager: Person, name: str) -> int:
    """Take all roles from a person and end their sessions; return how many ended.

    The account stays, so that its name is not given to somebody else by mistake; roles open it
    again.

    Raises:
        NotTheirsError: the account is not the manager's to change, or it is their own.
        AccountUnknownError: there is no such account.
    """
    set_grants(context, manager, name, ())
    return accounts.end_sessions(context, name)


def _get(context: Context, manager: Person, name: str) -> Person:
    known = list_people(context, manager)
    person = next((one for one in known if one.name == name), None)
    if person is None:
        raise accounts.AccountUnknownError(name)
    if not may_change(manager, person):
        raise NotTheirsError(f"{person.shown_as} has roles at depots that you do not manage")
    return person


def _check_grants(manager: Person, grants: Collection[Grant]) -> None:
    for grant in grants:
        if not manages(manager, grant.depot):
            raise NotTheirsError(f"{grant.depot}:{grant.role} is not yours to give")
