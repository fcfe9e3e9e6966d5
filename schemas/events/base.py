"""What all events share, and the line between facts and decisions."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, ClassVar, Self
from uuid import UUID

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    WithJsonSchema,
    model_validator,
)

from schemas.base import Model, Moment
from schemas.base import Personal as Personal
from schemas.base import PersonalNote as PersonalNote
from schemas.base import PersonalText as PersonalText
from schemas.base import PhotoDigest as PhotoDigest

SCHEMA_VERSION = 1


Depot = Annotated[str, StringConstraints(pattern=r"^[A-Z0-9][A-Z0-9-]{1,15}$")]
"""A depot's code: capital letters, digits and hyphens, 2 to 16 of them."""


def _in_capitals(value: object) -> object:
    return value.upper() if isinstance(value, str) else value


Slot = Annotated[
    str,
    BeforeValidator(_in_capitals),
    StringConstraints(pattern=r"^[A-Z0-9][A-Z0-9./-]{0,23}$"),
    # Said here, since a shape that is changed before it is read has none to show by itself.
    WithJsonSchema({"type": "string", "pattern": r"^[A-Za-z0-9][A-Za-z0-9./-]{0,23}$"}),
]
"""A place on the ground: row, stack and tier in the depot's own way of writing, in capitals."""

MarkAsRead = Annotated[str, StringConstraints(min_length=1, max_length=40, pattern=r"^[^\x00]*$")]


class Source(StrEnum):
    """By which way the report came in."""

    PAGE = "page"
    PHONE = "phone"
    API = "api"
    FILE = "file"
    ROUND = "round"
    """Nobody reported it: the daily round found it."""


def _says_what_it_names(schema: dict[str, Any], model: type[Event]) -> None:
    """Let the published shape say what the validator below asks: a mark or a tag, or neither."""
    if model.names_unit:
        schema["anyOf"] = [
            {"required": [name], "properties": {name: {"type": "string"}}}
            for name in ("mark", "tag")
        ]


class Event(Model):
    """One report about one unit. Holds what was said, never what was made of it."""

    model_config = ConfigDict(json_schema_extra=_says_what_it_names)

    names_unit: ClassVar[bool] = True
    """False where the event names another event or a question, which names the unit."""

    kind: str
    schema_version: Annotated[int, Field(ge=1, le=SCHEMA_VERSION)] = SCHEMA_VERSION
    id: UUID
    """Made by the sender, any UUID; the same id with the same content is the same event."""
    depot: Depot
    mark: MarkAsRead | None = None
    """The identification as read off the box, not yet judged."""
    tag: Slot | None = None
    """The depot's own tag number, for a box whose mark cannot be read."""
    happened_at: Moment
    reported_by: PersonalText
    source: Source = Source.API
    note: PersonalNote | None = None
    photos: Annotated[tuple[PhotoDigest, ...], Field(max_length=60)] = ()

    @model_validator(mode="after")
    def _must_name_a_unit(self) -> Self:
        if self.mark is None and self.tag is None and self.names_unit:
            raise ValueError("names no unit: give the mark as read, or the depot's tag number")
        return self


class Fact(Event):
    """Says what happened. Always recorded: refusing to write it down would not undo it."""


class Decision(Event):
    """Asks for something. Recorded, or refused with reasons."""
