"""Set up the house: its depots, and who gets which mail."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.store import house


def set_depot(context: Context, code: str, name: str, zone: str) -> None:
    """Make a depot known, or change its name and zone; raises `ZoneError`."""
    with context.engine.begin() as connection:
        house.set_depot(connection, code, name, zone)


def set_contact(
    context: Context, depot: str, role: str, address: str, name: str | None = None
) -> None:
    """Let an address get the mail of a role at a depot (`*` for all)."""
    with context.engine.begin() as connection:
        house.set_contact(connection, depot, role, address, name)


def remove_contact(context: Context, depot: str, role: str, address: str) -> bool:
    """Take an address away; return whether it was there."""
    with context.engine.begin() as connection:
        return house.remove_contact(connection, depot, role, address)
