"""All kinds of events as one closed set: the union to parse with, and the kind -> class map."""

from __future__ import annotations

from typing import Annotated, Final, get_args

from pydantic import Field, TypeAdapter

from schemas.events.base import Decision, Event, Fact
from schemas.events.claim import ClaimClosed, ClaimNotice
from schemas.events.condition import Complaint, Examination, Inspection, Survey
from schemas.events.deal import (
    Acquisition,
    Cancellation,
    Order,
    PassingOn,
    Payment,
    Release,
    Reservation,
    Sale,
    TakeBack,
)
from schemas.events.gate import Clearance, Delivery, GateIn, GateOut, PreAdvice
from schemas.events.hold import Hold, HoldCleared
from schemas.events.settling import Answer, Correction
from schemas.events.workshop import Marking, Modification, PlateChange, Repair, WorkOrder
from schemas.events.yard import Disposal, Restow, Sighting

AnyFact = (
    PreAdvice
    | GateIn
    | Inspection
    | Sighting
    | Restow
    | Examination
    | Survey
    | Modification
    | Repair
    | Marking
    | PlateChange
    | GateOut
    | Delivery
    | ClaimNotice
    | Complaint
    | Disposal
)
AnyDecision = (
    Acquisition
    | WorkOrder
    | Hold
    | HoldCleared
    | ClaimClosed
    | Reservation
    | Order
    | Sale
    | Release
    | Cancellation
    | Clearance
    | TakeBack
    | Answer
    | Correction
    | PassingOn
    | Payment
)
AnyEvent = Annotated[AnyFact | AnyDecision, Field(discriminator="kind")]


def _by_kind(*classes: type[Event]) -> dict[str, type[Event]]:
    return {get_args(kind.model_fields["kind"].annotation)[0]: kind for kind in classes}


FACTS: Final = _by_kind(*get_args(AnyFact))
DECISIONS: Final = _by_kind(*get_args(AnyDecision))
KINDS: Final = FACTS | DECISIONS
"""Wire name of each kind -> its class, in the order the union lists them."""

RANKS: Final = {kind: rank for rank, kind in enumerate(KINDS)}
"""Which of two events at one moment is folded first: the lower rank."""

EVENT: Final[TypeAdapter[Fact | Decision]] = TypeAdapter(AnyEvent)
"""Reads one event of any kind; the class says whether it is a fact or a decision."""
