"""What settles a doubt: an answer to an open question, a correction of a recorded event."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, ClassVar, Literal
from uuid import UUID

from pydantic import AfterValidator, Field, JsonValue

from schemas.base import Moment, Text
from schemas.events.base import Decision, MarkAsRead, PersonalNote
from schemas.readings import Masses, PlateReading


class Settlement(StrEnum):
    """How a question was settled.

    VALUE: the right value is given. AS_PAINTED: it is really painted so, and is to be repainted.
    CONFIRMED: what was reported did happen. WITHDRAWN: the report was a mistake and goes.
    """

    VALUE = "value"
    AS_PAINTED = "as-painted"
    CONFIRMED = "confirmed"
    WITHDRAWN = "withdrawn"


class Answer(Decision):
    """A person settles an open question. The values given replace those asked about."""

    names_unit: ClassVar[bool] = False

    kind: Literal["answer"]
    question: UUID
    settlement: Settlement = Settlement.VALUE
    right_mark: MarkAsRead | None = None
    size_type: Text | None = None
    masses: Masses | None = None
    plate: PlateReading | None = None
    at: Moment | None = None
    """The right moment, for a question about time."""


def _can_be_stored(changes: dict[str, JsonValue]) -> dict[str, JsonValue]:
    """Refuse NUL anywhere in values of any shape: PostgreSQL stores none, and the judge looks."""
    left: list[JsonValue] = [changes]
    while left:
        match left.pop():
            case str() as text if "\x00" in text:
                raise ValueError("a text holds NUL, which cannot be stored")
            case dict() as named:
                left += [*named, *named.values()]
            case list() as listed:
                left += listed
            case _:
                pass
    return changes


class Correction(Decision):
    """A recorded event is put right, withdrawn, or given to another unit."""

    names_unit: ClassVar[bool] = False

    kind: Literal["correction"]
    corrects: UUID
    reason: PersonalNote
    withdrawn: bool = False
    changes: Annotated[
        dict[str, JsonValue],
        Field(default_factory=dict, max_length=40),
        AfterValidator(_can_be_stored),
    ]
    """Fields of the corrected event with their right values, each replaced whole. A changed
    `mark` gives the event to another unit."""
