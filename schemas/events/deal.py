"""What buying and selling asks for: title, reservation, sale, release, and undoing them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, Field

from schemas.base import Text
from schemas.events.base import Decision, PersonalNote, PersonalText


class IntendedUse(StrEnum):
    """What the buyer wants the unit for; decides what a finding holds back."""

    STORAGE = "storage"
    EXPORT = "export"
    TRANSPORT = "transport"


Money = Annotated[Decimal, Field(ge=0, max_digits=12, decimal_places=2)]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class Acquisition(Decision):
    """Title to the unit passes to the owner named."""

    kind: Literal["acquisition"]
    owner: Text
    title_evidence: Text
    title_passed_on: date


class Reservation(Decision):
    """The unit is to be kept for a buyer until a moment."""

    kind: Literal["reservation"]
    buyer: PersonalText
    until: AwareDatetime
    intended_use: IntendedUse = IntendedUse.STORAGE


class Sale(Decision):
    """The unit is sold to a buyer."""

    kind: Literal["sale"]
    buyer: PersonalText
    intended_use: IntendedUse
    reference: Text | None = None
    price: Money | None = None
    currency: Currency | None = None
    paid: bool = False
    on_credit: bool = False
    journey_ends_on: date | None = None


class Release(Decision):
    """The sold unit may be collected or sent."""

    kind: Literal["release"]
    reference: Text
    """The collection reference that the haulier must name."""
    haulier: Text | None = None
    expires_at: AwareDatetime | None = None


class Cancellation(Decision):
    """A reservation, sale, release or work order is undone."""

    kind: Literal["cancellation"]
    cancels: UUID
    reason: PersonalNote


class TakeBack(Decision):
    """The unit is taken back from its buyer."""

    kind: Literal["take-back"]
    reason: PersonalNote
