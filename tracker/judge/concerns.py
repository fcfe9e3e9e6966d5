"""What a family of rules hands back about a reading: each finding with the fields it doubts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple, TypeVar

from schemas.base import Model
from schemas.findings import Finding

AnyReading = TypeVar("AnyReading", bound=Model)


class Concern(NamedTuple):
    """A finding, and the fields of the reading that are not adopted because of it."""

    finding: Finding
    doubted: tuple[str, ...] = ()


def doubted_fields(reading: Model, concerns: Iterable[Concern]) -> tuple[str, ...]:
    """Return every field with a value that a concern doubts, once, in the order met."""
    doubted = dict.fromkeys(field for concern in concerns for field in concern.doubted)
    return tuple(field for field in doubted if getattr(reading, field) is not None)


def without(reading: AnyReading, doubted: Iterable[str]) -> AnyReading:
    """Return the reading with the doubted fields left out, itself when there are none."""
    blanks = dict.fromkeys(doubted)
    return reading.model_copy(update=blanks) if blanks else reading
