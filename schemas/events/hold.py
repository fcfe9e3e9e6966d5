"""What stops a unit, whatever the rules say: a person's hold, and its clearing."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal
from uuid import UUID

from schemas.events.base import Decision, PersonalNote


class HoldKind(StrEnum):
    """What is not to be done with the unit."""

    DO_NOT_LIFT = "do-not-lift"
    DO_NOT_STACK = "do-not-stack"
    DO_NOT_ENTER = "do-not-enter"
    DO_NOT_RELEASE = "do-not-release"


class Hold(Decision):
    """A person stops something about the unit, with a reason."""

    kind: Literal["hold"]
    hold: HoldKind
    reason: PersonalNote


class HoldCleared(Decision):
    """A hold is lifted, by the evidence named."""

    kind: Literal["hold-cleared"]
    clears: UUID
    """The id of the hold."""
    evidence: PersonalNote
