"""What a sender hears back: a receipt at once, a verdict when a worker has judged."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal
from uuid import UUID

from schemas.base import Model
from schemas.findings import Finding


class Outcome(StrEnum):
    """What became of an event.

    RECORDED: it stands in a history. REFUSED: a decision that would have been wrong to grant.
    HELD: it could not be read, or it broke the judge; an operator's matter, and never lost.
    """

    RECORDED = "recorded"
    REFUSED = "refused"
    HELD = "held"


class Verdict(Model):
    """What was made of one event."""

    id: UUID
    verdict: Outcome
    findings: tuple[Finding, ...] = ()
    unit: UUID | None = None
    seq: int | None = None


class FieldFault(Model):
    """What is wrong with one field of an event that cannot be read; `field` is dotted."""

    field: str
    says: str


class Receipt(Model):
    """The answer to one event handed in. `accepted` means that it is durable.

    `state` is `waiting` until a verdict stands; `conflict` says that the id is taken by an event
    with other content, `rejected` that the event was not kept because nobody could tell whose it
    is, or was given back as it was asked for, with what is wrong as `faults`. `again` is true when
    the same event was handed in before.
    """

    id: UUID | None
    state: Literal["waiting", "recorded", "refused", "held", "conflict", "rejected"]
    accepted: bool
    again: bool = False
    error: str | None = None
    faults: tuple[FieldFault, ...] = ()
    verdict: Verdict | None = None
