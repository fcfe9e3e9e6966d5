"""The house itself: its depots with their time zones, and who gets which mail."""

from __future__ import annotations

from datetime import UTC, tzinfo
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection, delete, select
from sqlalchemy.dialects.postgresql import insert

from shared.errors import HardstandError
from tracker.store.tables import CONTACTS, DEPOTS


class ZoneError(HardstandError):
    """A name is no time zone; carries it."""

    def __init__(self, zone: str) -> None:
        self.zone = zone
        super().__init__(
            f"{zone!r} is no time zone",
            expected="a name of the IANA list, such as Europe/Lisbon",
            remedy="Look the name up and say it again",
        )


def read_zone(zone: str) -> ZoneInfo:
    """Return the zone of that name; raises `ZoneError`."""
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError) as fault:
        raise ZoneError(zone) from fault


def set_depot(connection: Connection, code: str, name: str, zone: str) -> None:
    """Make a depot known, or change its name and zone; raises `ZoneError`."""
    read_zone(zone)
    values = {"name": name, "zone": zone}
    connection.execute(
        insert(DEPOTS)
        .values(code=code, **values)
        .on_conflict_do_update(constraint="pk_depots", set_=values)
    )


def list_depots(connection: Connection) -> list[dict[str, Any]]:
    """Return all depots by code."""
    return [dict(row) for row in connection.execute(select(DEPOTS).order_by("code")).mappings()]


def zones(connection: Connection) -> dict[str, tzinfo]:
    """Return each depot's zone."""
    found = connection.execute(select(DEPOTS.c.code, DEPOTS.c.zone))
    return {code: UTC if zone == "UTC" else read_zone(zone) for code, zone in found}


def set_contact(
    connection: Connection, depot: str, role: str, address: str, name: str | None = None
) -> None:
    """Let an address get the mail of a role at a depot (`*` for all)."""
    connection.execute(
        insert(CONTACTS)
        .values(depot=depot, role=role, address=address, name=name)
        .on_conflict_do_update(constraint="pk_contacts", set_={"name": name})
    )


def remove_contact(connection: Connection, depot: str, role: str, address: str) -> bool:
    """Take an address away; return whether it was there."""
    found = connection.execute(
        delete(CONTACTS).where(
            CONTACTS.c.depot == depot, CONTACTS.c.role == role, CONTACTS.c.address == address
        )
    )
    return found.rowcount > 0


def list_contacts(connection: Connection) -> list[dict[str, Any]]:
    """Return all contacts."""
    query = select(CONTACTS).order_by(CONTACTS.c.depot, CONTACTS.c.role, CONTACTS.c.address)
    return [dict(row) for row in connection.execute(query).mappings()]
