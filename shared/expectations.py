"""What an inspector may expect to see on a unit: common practice, for questions, not refusals."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from shared.errors import KnowledgeError
from shared.table_files import Certainty, TableRow, load_table


class Occurrence(StrEnum):
    """Whether an expectation is what is usually seen, or a known variant of it."""

    USUAL = "usual"
    VARIANT = "variant"


class ExpectationUnknownError(KnowledgeError):
    """There is no expectation of that id; carries the id."""

    def __init__(self, expectation_id: str) -> None:
        self.expectation_id = expectation_id
        super().__init__(f"There is no inspection expectation {expectation_id!r}")


@dataclass(frozen=True, slots=True)
class Expectation:
    """One thing expected of one part. A unit that differs is looked at again, never refused.

    `lengths_ft` and `provenance` say which units it is about; None means any. `counts` lists the
    numbers expected; otherwise `low` and `high` bound a measure in `unit`, None being open.
    """

    id: str
    part: str
    occurrence: Occurrence
    lengths_ft: frozenset[int] | None
    provenance: str | None
    counts: frozenset[int]
    low: float | None
    high: float | None
    unit: str
    words: str
    source: str
    certainty: Certainty

    def is_about(self, length_ft: int | None, provenance: str | None) -> bool:
        """Say whether it holds for such a unit; what is not known of the unit excludes nothing."""
        length_fits = None in (length_ft, self.lengths_ft) or length_ft in (self.lengths_ft or ())
        return length_fits and (
            None in (provenance, self.provenance) or provenance == self.provenance
        )

    def fits(self, value: float) -> bool | None:
        """Say whether a count, or a measure in `unit`, is expected; None when no number is."""
        if self.counts:
            return value in self.counts
        if self.low is None and self.high is None:
            return None
        above = self.low is None or value >= self.low
        return above and (self.high is None or value <= self.high)


def _read_row(row: TableRow) -> Expectation:
    lengths = row["lengths_ft"]
    return Expectation(
        id=row["id"],
        part=row["part"],
        occurrence=Occurrence(row["occurrence"]),
        lengths_ft=frozenset(int(each) for each in lengths.split(";")) if lengths else None,
        provenance=row["provenance"] or None,
        counts=frozenset(int(each) for each in row["counts"].split(";") if each),
        low=float(row["low"]) if row["low"] else None,
        high=float(row["high"]) if row["high"] else None,
        unit=row["unit"],
        words=row["words"],
        source=row.source,
        certainty=row.certainty,
    )


@cache
def _all() -> tuple[Expectation, ...]:
    return tuple(_read_row(row) for row in load_table("inspection_expectations"))


def list_expectations(
    part: str | None = None, *, length_ft: int | None = None, provenance: str | None = None
) -> tuple[Expectation, ...]:
    """Return what is expected of such a unit, in the order of the table; may be empty.

    Args:
        part: Only about this part (`fork-pockets`, `locking-bars`, …); None for all.
        length_ft: Nominal length; None when not known.
        provenance: `one-trip` or `used`; None when not known.
    """
    return tuple(
        each
        for each in _all()
        if part in (None, each.part) and each.is_about(length_ft, provenance)
    )


def get_expectation(expectation_id: str) -> Expectation:
    """Return the expectation of that id; raises `ExpectationUnknownError` when there is none."""
    for each in _all():
        if each.id == expectation_id:
            return each
    raise ExpectationUnknownError(expectation_id)


def find_fitting(
    part: str, value: float, *, length_ft: int | None = None, provenance: str | None = None
) -> Expectation | None:
    """Return the first expectation of `part` that `value` fits, usual ones first.

    None means that what was seen is not among what is expected: a reason to look again.
    """
    expected = list_expectations(part, length_ft=length_ft, provenance=provenance)
    usual_first = sorted(expected, key=lambda each: each.occurrence is not Occurrence.USUAL)
    return next((each for each in usual_first if each.fits(value)), None)
