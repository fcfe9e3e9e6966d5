"""The invented house of the demo day: two depots, the people, who buys, supplies and hauls.

Nobody and nothing here exists. The owner codes are plainly made up, too; all end in U.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

from tracker.services import keep_house
from tracker.services.context import Context


@dataclass(frozen=True, slots=True)
class Depot:
    """A depot with the people who report from it."""

    code: str
    name: str
    zone: str
    gate: str
    workshop: str

    @property
    def clock_zone(self) -> ZoneInfo:
        """Return the zone that its days are reckoned in."""
        return ZoneInfo(self.zone)


TARN: Final = Depot("TARN", "Tarn Lane", "Europe/Dublin", "Mira Quill", "Joss Ember")
QUAY: Final = Depot("QUAY", "Old Quay", "Europe/Lisbon", "Pim Larkin", "Runa Sable")
DEPOTS: Final = (TARN, QUAY)

SALES_DESK: Final = "Edda Finch"
MANAGER: Final = "Orin Vale"
HOUSE: Final = "Hardstand Demo Boxes"

NEW_OWNERS: Final = ("HQXU", "ZZTU")
"""Prefixes of new boxes, which come in runs of serials."""
USED_OWNERS: Final = ("QQKU", "XJWU", "VYVU")
SUPPLIERS: Final = ("Farshore Box Works", "Lindle Leasing", "Umber Tide Boxes")
BUYERS: Final = (
    "Fennimore Orchards",
    "Tolly Wick",
    "Pell and Daughter",
    "Bram Oskell",
    "Mossgate Players",
    "Saltmarsh Rowers",
    "Ione Thrupp",
    "Cobble Row Builders",
)
HAULIERS: Final = ("Wendle Haulage", "Hob and Cart", "Longreach Drays")
COLOURS: Final = ("RAL 5010", "RAL 6007", "RAL 7035", "RAL 8004", "RAL 1015")

_CONTACTS: Final = (
    (TARN.code, "gate", "gate.tarn@demo.invalid", TARN.gate),
    (TARN.code, "workshop", "workshop.tarn@demo.invalid", TARN.workshop),
    (QUAY.code, "gate", "gate.quay@demo.invalid", QUAY.gate),
    (QUAY.code, "workshop", "workshop.quay@demo.invalid", QUAY.workshop),
    ("*", "sales", "sales@demo.invalid", SALES_DESK),
    ("*", "manager", "manager@demo.invalid", MANAGER),
)


def set_up(context: Context) -> None:
    """Make the depots and the addresses for their mail known; may be called again."""
    for depot in DEPOTS:
        keep_house.set_depot(context, depot.code, depot.name, depot.zone)
    for code, role, address, name in _CONTACTS:
        keep_house.set_contact(context, code, role, address, name)


def other(depot: Depot) -> Depot:
    """Return the other depot."""
    return QUAY if depot is TARN else TARN
