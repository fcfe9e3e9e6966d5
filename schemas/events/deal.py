"""What buying and selling asks for: title, reservation, sale, release, and undoing them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, ClassVar, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from schemas.base import Model, Moment, Text, amount_shape
from schemas.events.base import Decision, PersonalNote, PersonalText
from schemas.events.description import StockDescription


class IntendedUse(StrEnum):
    """What the buyer wants the unit for; decides what a finding holds back."""

    STORAGE = "storage"
    EXPORT = "export"
    TRANSPORT = "transport"


# `override_reason`: why a manager lets a commercial refusal pass; what is legal or for safety, no
# reason lets pass.

Money = Annotated[
    Decimal, Field(ge=0, max_digits=12, decimal_places=3), amount_shape(999_999_999, 9, 3)
]
"""An amount in its currency; one with more decimals than the currency has is refused."""
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
TaxRate = Annotated[Decimal, Field(ge=0, le=100, decimal_places=3), amount_shape(100, 2, 3)]
"""Of the net, in percent: 20 is a fifth."""


class Handover(StrEnum):
    """How the buyer gets the unit."""

    COLLECTION = "collection"
    """The buyer has it fetched."""
    DELIVERY = "delivery"
    """We have it brought."""


class CustomsStatus(StrEnum):
    """How the customs see the unit."""

    FREE_CIRCULATION = "free-circulation"
    TEMPORARY_ADMISSION = "temporary-admission"
    UNKNOWN = "unknown"


class Acquisition(Decision):
    """Title to the unit passes to the owner named."""

    kind: Literal["acquisition"]
    owner: Text
    title_evidence: Text
    """What proves it: the reference of the sale."""
    title_passed_on: date
    previous_owner: Text | None = None
    """Whose marks the unit still bears."""
    customs: CustomsStatus | None = None
    customs_entry: Text | None = None
    """The reference of the entry, where there is one."""


class Reservation(Decision):
    """The unit is to be kept for a buyer until a moment."""

    kind: Literal["reservation"]
    buyer: PersonalText
    until: Moment
    intended_use: IntendedUse = IntendedUse.STORAGE
    override_reason: PersonalNote | None = None


class SaleLine(Model):
    """Something sold with the unit, such as a conversion: so many pieces at a net price each."""

    what: Text
    """The work by its name in the catalogue, or in other words."""
    count: Annotated[int, Field(ge=1, le=999)] = 1
    price_each: Money


def _check_tax(rate: Decimal | None, because: str | None) -> None:
    if because is not None and rate:
        raise ValueError("untaxed_because says that no tax is charged: leave tax_rate_percent out")


class Order(Decision):
    """So many units of a description are promised to a buyer; which ones is settled later."""

    names_unit: ClassVar[bool] = False

    kind: Literal["order"]
    buyer: PersonalText
    description: StockDescription
    count: Annotated[int, Field(ge=1, le=999)]
    intended_use: IntendedUse = IntendedUse.STORAGE
    reference: Text | None = None
    price_each: Money | None = None
    """Net, without tax."""
    currency: Currency | None = None
    tax_rate_percent: TaxRate | None = None
    untaxed_because: Text | None = None
    paid: bool = False
    on_credit: bool = False
    journey_ends_on: date | None = None
    handover: Handover | None = None
    override_reason: PersonalNote | None = None

    @model_validator(mode="after")
    def _names_no_unit(self) -> Self:
        if self.mark is not None or self.tag is not None:
            raise ValueError("an order is for any unit of its description: leave mark and tag out")
        return self

    @model_validator(mode="after")
    def _taxed_one_way(self) -> Self:
        _check_tax(self.tax_rate_percent, self.untaxed_because)
        return self


class Sale(Decision):
    """The unit is sold to a buyer."""

    kind: Literal["sale"]
    buyer: PersonalText
    intended_use: IntendedUse
    reference: Text | None = None
    price: Money | None = None
    """Of the unit as it is, net, without tax."""
    lines: Annotated[tuple[SaleLine, ...], Field(min_length=1, max_length=40)] | None = None
    """What is sold with it."""
    currency: Currency | None = None
    """The house's where it is left out."""
    tax_rate_percent: TaxRate | None = None
    """The house's where it is left out."""
    untaxed_because: Text | None = None
    """Why no tax is charged, such as export; nobody but who sells decides it."""
    paid: bool = False
    on_credit: bool = False
    journey_ends_on: date | None = None
    handover: Handover | None = None
    override_reason: PersonalNote | None = None

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        _check_tax(self.tax_rate_percent, self.untaxed_because)
        if self.lines is not None and self.price is None:
            raise ValueError("lines come on top of the unit's price: give price, which may be 0")
        return self


class Payment(Decision):
    """What was sold unpaid, or on credit, is paid.

    With a mark it names the live sale of that unit; without, an order.
    """

    names_unit: ClassVar[bool] = False
    """An order belongs to no unit."""

    kind: Literal["payment"]
    pays: UUID
    """The sale or the order, by the id of the event that asked for it."""
    paid_on: date | None = None
    reference: Text | None = None
    """Of the transfer or the receipt."""


class Release(Decision):
    """What is sold may be collected or sent, on a collection reference.

    With a mark it releases that unit. With an order and no mark it gives one reference for `count`
    units, which are allotted at the barrier; with both it allots the unit to the order.
    """

    names_unit: ClassVar[bool] = False

    kind: Literal["release"]
    order: UUID | None = None
    count: Annotated[int, Field(ge=1, le=999)] = 1
    reference: Text | None = None
    """Made by us, hard to guess, where it is left out."""
    haulier: Text | None = None
    expires_at: Moment | None = None
    marks_authority: Text | None = None
    """What allows the unit to travel under its previous owner's marks."""
    override_reason: PersonalNote | None = None

    @model_validator(mode="after")
    def _releases_something(self) -> Self:
        if self.mark is None and self.tag is None and self.order is None:
            raise ValueError("releases nothing: give the unit's mark, or the order")
        return self


class PassingOn(Decision):
    """A collection reference is passed on, as to a buyer's buyer: a new one takes its place.

    The old one opens nothing any more, so that a copy of an old paper collects nothing. The new one
    is made by us, lasts as long and allows the same.
    """

    names_unit: ClassVar[bool] = False
    """The reference says which unit or order it is about."""

    kind: Literal["passing-on"]
    reference: Text
    """The one that is passed on."""
    collector: PersonalText
    """Who may collect from now on."""
    haulier: Text | None = None
    """Whose lorries may collect from now on; any where it is left out."""
    count: Annotated[int, Field(ge=1, le=999)] | None = None
    """How many units of an order are passed on; all that are left where it is left out."""

    @model_validator(mode="after")
    def _names_only_the_reference(self) -> Self:
        if self.mark is not None or self.tag is not None:
            raise ValueError("the reference says what is passed on: leave mark and tag out")
        return self


class Cancellation(Decision):
    """A reservation, sale, payment, order, release or work order is undone."""

    names_unit: ClassVar[bool] = False
    """An order, and a release on one, belong to no unit."""

    kind: Literal["cancellation"]
    cancels: UUID
    reason: PersonalNote


class TakeBack(Decision):
    """The unit is taken back from its buyer."""

    kind: Literal["take-back"]
    reason: PersonalNote
