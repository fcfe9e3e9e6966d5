"""What the workshop is asked for and reports: orders, fittings, repairs, marks and plates."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from schemas.base import Kilograms, Model, Text
from schemas.events.base import Decision, Fact, MarkAsRead
from schemas.readings import Masses, PlateReading
from shared.work import ApprovalEffect as ApprovalEffect

WorkName = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,39}$")]
"""A piece of work in lower case with hyphens: `lock-box`, `louvre-vent`."""


DoneWork = Annotated[tuple[WorkName, ...], Field(max_length=50)]
"""The lines of an order that were done; none means all that such a report tells of."""


class WorkLine(Model):
    """One line of a work order."""

    work: WorkName
    count: Annotated[int, Field(ge=1, le=99)] = 1


class Fitting(Model):
    """What was fitted: how many, what each weighs, and what steel was cut out for it."""

    work: WorkName
    count: Annotated[int, Field(ge=1, le=99)] = 1
    mass_kg: Kilograms = 0
    """Of one piece."""
    cut_out_kg: Kilograms = 0
    """Steel taken out for one piece."""
    permanent: bool = True
    """Loose pieces do not belong to the tare."""
    certificate: Text | None = None
    """The number of the certificate that came with it."""


class WorkOrder(Decision):
    """Work is to be done on the unit."""

    kind: Literal["work-order"]
    lines: Annotated[tuple[WorkLine, ...], Field(min_length=1, max_length=50)]
    due_on: date | None = None


class Modification(Fact):
    """Something was fitted to the unit, or cut out of it; or it was weighed after such work."""

    kind: Literal["modification"]
    fittings: Annotated[tuple[Fitting, ...], Field(max_length=50)] = ()
    approval_effect: ApprovalEffect = ApprovalEffect.NONE
    weighed_tare_kg: Kilograms | None = None
    """The tare as weighed afterwards; asked for where the shell was cut."""
    order: UUID | None = None

    @model_validator(mode="after")
    def _must_tell_something(self) -> Self:
        if not self.fittings and self.weighed_tare_kg is None:
            raise ValueError("tells neither what was fitted nor what the unit weighs")
        return self


class Repair(Fact):
    """Damage was mended."""

    kind: Literal["repair"]
    damages: Annotated[tuple[Text, ...], Field(max_length=100)] = ()
    """The ids of the damages mended, as the record names them; none means all that is open, or
    none of it where `work` says what was done."""
    order: UUID | None = None
    work: DoneWork = ()


class Marking(Fact):
    """Marks on the unit were removed, repainted, or a new identification was put on.

    `removed` is of the previous owner's marks; `labels-removed` of placards and labels.
    """

    kind: Literal["marking"]
    action: Literal["removed", "repainted", "re-marked", "labels-removed"]
    new_mark: MarkAsRead | None = None
    masses: Masses | None = None
    """The masses as they are painted now."""
    order: UUID | None = None
    work: DoneWork = ()


class PlateChange(Fact):
    """The safety plate was removed or replaced, the unit approved anew, or its approval confirmed.

    `confirmed` is the approving body's answer that the approval stands after the work it was asked
    about; one that is void takes `re-approved`.
    """

    kind: Literal["plate-change"]
    action: Literal["removed", "replaced", "re-approved", "confirmed"]
    plate: PlateReading | None = None
    approved_by: Text | None = None
    """The approving body; who answered must be said where the approval is confirmed."""

    @model_validator(mode="after")
    def _must_say_who_confirmed(self) -> Self:
        if self.action == "confirmed" and self.approved_by is None:
            raise ValueError("an approval is confirmed by the body that answered: say which")
        return self
