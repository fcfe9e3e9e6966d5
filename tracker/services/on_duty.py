"""Put people on duty at a depot, and off again: whoever is, is told at once what cannot wait."""

from __future__ import annotations

from typing import Any

from shared.errors import HardstandError
from tracker.papers.messages import is_address
from tracker.services import staff
from tracker.services.actor import EVERY_DEPOT, Person
from tracker.services.context import Context
from tracker.store import duties, house


class DutyError(HardstandError):
    """Somebody cannot be put on duty: at no depot, or where no mail reaches them."""


def begin(context: Context, depot: str, address: str, *, name: str | None, by: str) -> None:
    """Put an address on duty at a depot (`*` for all), from now until it is taken off.

    Raises:
        DutyError: the depot is not known, or the address is none.
    """
    address = address.strip()
    if not is_address(address):
        raise DutyError(f"{address!r} is no mail address", expected="one such as ada@example.org")
    with context.engine.begin() as connection:
        known = {one["code"] for one in house.list_depots(connection)}
        if depot not in known | {EVERY_DEPOT}:
            raise DutyError(f"{depot!r} is no depot", expected=", ".join(sorted(known)))
        duties.begin(connection, depot, address, name or None, by, context.clock.now())


def end(context: Context, depot: str, address: str) -> bool:
    """Take an address off duty; return whether it was on."""
    with context.engine.begin() as connection:
        return duties.end(connection, depot, address)


def list_all(context: Context) -> list[dict[str, Any]]:
    """Return who is on duty: `depot address name set_by since`, by depot."""
    with context.engine.begin() as connection:
        return duties.list_all(connection)


def list_for(context: Context, manager: Person) -> list[dict[str, Any]]:
    """Return who is on duty at the depots that a manager manages, those of every depot too."""
    return [
        one
        for one in list_all(context)
        if one["depot"] == EVERY_DEPOT or staff.manages(manager, one["depot"])
    ]


def check(manager: Person, depot: str) -> None:
    """Raise `NotTheirsError` where a duty at a depot is not a manager's to change."""
    if not staff.manages(manager, depot):
        raise staff.NotTheirsError(f"Who is on duty at {depot} is not yours to say")
