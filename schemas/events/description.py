"""What a buyer asks for when any unit of a kind will do: "six of 20 ft, cargo-worthy"."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from schemas.base import Model, Text
from schemas.events.condition import Condition

TypeLetter = Annotated[str, Field(pattern=r"^[A-Z]$")]
LengthFt = Literal[10, 20, 30, 40, 45]


class StockDescription(Model):
    """Which units will do. What is left open matches every unit."""

    length_ft: LengthFt
    types: Annotated[tuple[TypeLetter, ...], Field(min_length=1, max_length=10)] = ("G", "V")
    """First letters of the type codes that will do; G and V are the dry boxes."""
    high: bool | None = None
    """9 ft 6 in high; False asks for the lower ones."""
    conditions: Annotated[tuple[Condition, ...], Field(max_length=4)] = ()
    colour: Text | None = None
    provenance: Literal["one-trip", "used", "refurbished"] | None = None
