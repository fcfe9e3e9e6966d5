"""The parts of a decoded size-type code: length, height with width, and what the type means."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from shared.table_files import Certainty, TableRow


class Edition(StrEnum):
    """The text a meaning comes from; it holds in later editions unless one changed it."""

    ISO_1995 = "1995"
    AMENDMENT_3 = "1995/Amd 3:2012"


class Bound(StrEnum):
    """How a height in mm is meant."""

    EXACTLY = "exactly"
    OVER = "over"
    AT_MOST = "at most"


class WidthClass(StrEnum):
    """The width that the second character tells, in mm."""

    STANDARD = "2438"
    TO_2500 = "up to 2500"
    OVER_2500 = "over 2500"

    @property
    def words(self) -> str:
        """Return the width in words, with its unit."""
        return "2438 mm (8 ft)" if self is WidthClass.STANDARD else f"{self.value} mm"


class Vents(StrEnum):
    """The ventilation that a type code promises. Says nothing of louvres fitted afterwards."""

    NONE = "none"
    PASSIVE = "passive"
    NATURAL = "natural"
    MECHANICAL = "mechanical"


class MeaningChange(StrEnum):
    """What the amendment of 2012 did to a code: another meaning, or the type moved elsewhere."""

    CHANGED = "changed"
    REGROUPED = "regrouped"


def feet_words(feet: Decimal) -> str:
    """Write a length in feet as people say it: `20 ft`, `8 ft 6 in`."""
    whole = int(feet)
    inches = round((feet - whole) * 12)
    return f"{whole} ft {inches} in" if inches else f"{whole} ft"


@dataclass(frozen=True, slots=True)
class Length:
    """An external length; `feet` is None where the table names none."""

    code: str
    mm: int
    feet: Decimal | None
    source: str
    certainty: Certainty

    @property
    def words(self) -> str:
        """Return the length as people say it, in mm where no feet are in use."""
        return f"{self.mm} mm" if self.feet is None else feet_words(self.feet)


@dataclass(frozen=True, slots=True)
class Height:
    """An external height, exact or bounded, and the width class told by the same character."""

    code: str
    mm: int
    bound: Bound
    feet: Decimal
    width: WidthClass
    source: str
    certainty: Certainty

    @property
    def words(self) -> str:
        """Return the height as people say it, with its bound."""
        says = feet_words(self.feet)
        return says if self.bound is Bound.EXACTLY else f"{self.bound.value} {says}"


@dataclass(frozen=True, slots=True)
class TypeMeaning:
    """One thing that the two type characters can mean.

    `detail` is None for a group code. With `reduced` the painted fourth character was a letter,
    and `detail` is the full-strength code it stands for. `openings` is empty when the code does
    not promise any.
    """

    text: str
    group: str
    detail: str | None
    edition: Edition
    source: str
    certainty: Certainty
    reduced: bool = False
    vents: Vents | None = None
    openings: str = ""
    change: MeaningChange | None = None


@dataclass(frozen=True, slots=True)
class NoMeaning:
    """A code without a meaning: who says so, and how sure that is."""

    source: str
    certainty: Certainty


def as_reduced(full: TypeMeaning, letter: TableRow) -> TypeMeaning:
    """Return the reduced-strength twin of a detail, no surer than `letter`, its last character."""
    twin = replace(full, reduced=True, edition=Edition.AMENDMENT_3, change=None)
    if full.certainty in (Certainty.MEMORY, Certainty.PRACTICE):
        return twin
    return replace(twin, source=letter.source, certainty=letter.certainty)
