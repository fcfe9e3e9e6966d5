"""One piece of work as a manager writes it into the catalogue, and as the catalogue lists it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from schemas.base import Kilograms, Model, Text, amount_shape
from schemas.events.workshop import WorkName as WorkName
from shared.table_files import Certainty
from shared.work import ApprovalEffect, ReportedAs

_Price = Annotated[
    Decimal, Field(ge=0, max_digits=12, decimal_places=2), amount_shape(9_999_999_999, 10, 2)
]
"""In hundredths, whatever the currency: it is asked for, and never paid by itself."""

ShortText = Annotated[str, Field(max_length=400, pattern=r"^[^\x00]*$")]


class WorkTerms(Model):
    """What the house says of one piece of work; see `shared.work.WorkItem` for each field.

    Without an `approval_effect`, what cuts asks the approving body and all else does nothing.
    """

    words: Text
    mass_kg: Kilograms | None = None
    cuts: ShortText = ""
    cut_out_kg: Kilograms = 0
    permanent: bool = True
    labour_min: Annotated[int, Field(ge=0, le=100_000)] = 0
    price: Annotated[_Price | None, Field(strict=False)] = None
    approval_effect: Annotated[ApprovalEffect | None, Field(strict=False)] = None
    caution: ShortText = ""
    certificate: ShortText = ""
    reported_as: Annotated[ReportedAs, Field(strict=False)] = ReportedAs.MODIFICATION


class ListedWork(WorkTerms):
    """One piece of work as the catalogue lists it. `caution` is in words here."""

    name: WorkName
    source: str
    certainty: Annotated[Certainty, Field(strict=False)]
