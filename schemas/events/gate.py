"""What the gate reports: expected, in, out, and whether it may pass the barrier."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Literal

from schemas.base import MonthField, Text
from schemas.events.base import (
    Decision,
    Depot,
    Fact,
    PersonalNote,
    PersonalText,
    PhotoDigest,
    Slot,
)
from schemas.readings import Masses, PlateReading


class Purpose(StrEnum):
    """Why a unit comes or goes."""

    PURCHASE = "purchase"
    TRANSFER = "transfer"
    SALE = "sale"
    HIRE = "hire"
    TAKE_BACK = "take-back"
    FAILED_DELIVERY = "failed-delivery"
    CUSTOMER_BOX = "customer-box"
    STORAGE_FOR_OTHERS = "storage-for-others"
    OUTSIDE_REPAIR = "outside-repair"
    SCRAP = "scrap"


class Provenance(StrEnum):
    """Where a unit stands in its life, apart from its condition."""

    ONE_TRIP = "one-trip"
    USED = "used"
    REFURBISHED = "refurbished"


class OutsideLookedAt(StrEnum):
    """Whether the gate looked at the outside of a unit; damage is none seen only where it did."""

    YES = "yes"
    NO = "no"
    NOT_POSSIBLE = "not-possible"


class PreAdvice(Fact):
    """A unit is expected, usually one of a batch that shares make, rating and colour."""

    kind: Literal["pre-advice"]
    batch: Text
    purpose: Purpose = Purpose.PURCHASE
    expected_on: date | None = None
    supplier: Text | None = None
    size_type: Text | None = None
    masses: Masses | None = None
    manufactured_in: MonthField | None = None
    colour: Text | None = None
    provenance: Provenance | None = None
    approval_reference: Text | None = None
    """As the supplier says it; the plate itself says it when it is read."""


class GateIn(Fact):
    """A unit came in. Readings may be left out while a lorry waits."""

    kind: Literal["gate-in"]
    purpose: Purpose = Purpose.PURCHASE
    reference: Text | None = None
    batch: Text | None = None
    size_type: Text | None = None
    masses: Masses | None = None
    plate: PlateReading | None = None
    slot: Slot | None = None
    laden: Literal["empty", "full"] = "empty"
    seal: Text | None = None
    placards: Text | None = None
    """Dangerous-goods placards or a fumigation label seen, in the words on them."""
    last_cargo: Text | None = None
    outside_looked_at: OutsideLookedAt | None = None
    damage_on_lorry: Text | None = None
    colour: Text | None = None
    provenance: Provenance | None = None
    haulier: Text | None = None
    vehicle: PersonalText | None = None
    driver: PersonalText | None = None
    signature: PhotoDigest | None = None
    """The driver's, drawn on a screen or on paper, kept as a photo is."""
    signature_refused: PersonalNote | None = None
    """Why the driver would not sign."""


class GateOut(Fact):
    """A unit left."""

    kind: Literal["gate-out"]
    purpose: Purpose = Purpose.SALE
    to_depot: Depot | None = None
    """The depot of ours it goes to, for a transfer."""
    reference: Text | None = None
    laden: Literal["empty", "full"] = "empty"
    seal: Text | None = None
    outside_looked_at: OutsideLookedAt | None = None
    haulier: Text | None = None
    vehicle: PersonalText | None = None
    driver: PersonalText | None = None
    signature: PhotoDigest | None = None
    signature_refused: PersonalNote | None = None


class Clearance(Decision):
    """The barrier asks: may this unit pass on this collection reference? Uses up one count."""

    kind: Literal["clearance"]
    reference: Text
    haulier: Text | None = None
    vehicle: PersonalText | None = None
    override_reason: PersonalNote | None = None


class Delivery(Fact):
    """What became of a delivery."""

    kind: Literal["delivery"]
    outcome: Literal["delivered", "aborted"]
    received_by: PersonalText | None = None
    proof_of_export: Text | None = None
    """The reference of what proves that the unit left the country."""
