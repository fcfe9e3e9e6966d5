"""What becomes of a claim for damage that was there before the unit was lifted off."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Text
from schemas.events.base import Decision, Fact, PersonalNote
from schemas.events.deal import Currency, Money


class ClaimNotice(Fact):
    """Notice of a claim was given to the firm that answers for the damage."""

    kind: Literal["claim-notice"]
    claims: Annotated[tuple[Text, ...], Field(max_length=100)] = ()
    """The ids of the claims, as the record names them; none means all without notice."""
    given_on: date | None = None
    """The day that counts, where it is not the day this happened."""
    to: Text | None = None
    """The firm, where the claim named none or another."""
    reference: Text | None = None
    """Of the letter, or of the firm's answer."""


class ClaimOutcome(StrEnum):
    """How a claim ended."""

    PAID = "paid"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"


class ClaimClosed(Decision):
    """A claim is at its end: the firm paid or refused, or we gave it up."""

    kind: Literal["claim-closed"]
    closes: Text
    """The id of the claim, as the record names it."""
    outcome: ClaimOutcome
    amount: Money | None = None
    """What was paid, where it was."""
    currency: Currency | None = None
    reason: PersonalNote | None = None

    @model_validator(mode="after")
    def _says_what_was_paid(self) -> Self:
        if self.outcome is not ClaimOutcome.PAID:
            if self.amount is not None or self.currency is not None:
                raise ValueError("an amount belongs to a claim that was paid")
        elif self.amount is None or self.currency is None:
            raise ValueError("a claim that was paid says the amount and its currency")
        return self
