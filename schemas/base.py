"""The ground all schemas stand on: frozen, strict about unknown fields, months as months."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Final

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    StringConstraints,
    WithJsonSchema,
)

from shared.months import Month, MonthError


class Model(BaseModel):
    """The base of all schemas: unknown fields are refused by name, text is no number."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, hide_input_in_errors=True, cache_strings="keys"
    )


MONTH: Final = r"^(19|2[0-9])[0-9]{2}-(0[1-9]|1[0-2])$"
"""The shape of a month that a plate can show."""


def _read_month(value: object) -> Month:
    if isinstance(value, Month):
        return value
    if not isinstance(value, str):
        raise ValueError("a month is written as text: YYYY-MM")  # noqa: TRY004 - pydantic reads this
    try:
        return Month.parse(value)
    except MonthError as fault:
        raise ValueError(str(fault)) from fault


MonthField = Annotated[
    Month,
    PlainValidator(_read_month),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": MONTH}),
]
"""A month on the wire: `YYYY-MM`."""


def _within_reason(moment: datetime) -> datetime:
    if not 1950 <= moment.year <= 2199:
        raise ValueError("a moment lies between the years 1950 and 2199")
    return moment


Moment = Annotated[
    AwareDatetime,
    AfterValidator(_within_reason),
    WithJsonSchema(
        {"type": "string", "format": "date-time", "pattern": r"^(19[5-9][0-9]|2[01][0-9]{2})-"}
    ),
]
"""A moment with its zone. Further off it could not be told in another zone, or be kept."""


def amount_shape(most: int, whole_digits: int, places: int) -> WithJsonSchema:
    """Return how an amount from 0 is published, as the number or the text it may be written as.

    The published shape of a Decimal itself takes any text at all.
    """
    text = rf"^[0-9]{{1,{whole_digits}}}(\.[0-9]{{1,{places}}})?$"
    options = [
        {"type": "number", "minimum": 0, "maximum": most},
        {"type": "string", "pattern": text},
    ]
    return WithJsonSchema({"anyOf": options}, mode="validation")


Kilograms = Annotated[int, Field(ge=0, le=999_999)]
"""A mass in whole kilograms."""

Pounds = Annotated[int, Field(ge=0, le=2_200_000)]
"""A mass in whole pounds, as painted; converted nowhere, compared with its kilograms."""

Text = Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00]*$")]
"""A short text without NUL, which PostgreSQL cannot store."""

LongText = Annotated[str, Field(max_length=4000, pattern=r"^[^\x00]*$")]
"""A text of some length without NUL."""


class Personal:
    """Marks a field about a person: it stands apart from the history and can be forgotten."""


PersonalText = Annotated[Text, Personal()]
PersonalNote = Annotated[LongText, Personal()]

PhotoDigest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
"""SHA-256 of a photo's bytes, lower-case hexadecimal."""
