"""What is looked at when a unit is inspected: the items of the checklist, as data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache

from shared.table_files import Certainty, TableRow, load_table


class AnswerKind(StrEnum):
    """What an inspector answers an item with."""

    GAS = "gas"
    LIGHT = "light"
    PLATE = "plate"
    COUNT = "count"
    MEASURE = "measure"
    STATE = "state"


class Proves(StrEnum):
    """What a good answer helps to show. No item by itself shows it."""

    WEATHER = "weather"
    STRENGTH = "strength"


@dataclass(frozen=True, slots=True)
class Check:
    """One item. Says what to look at and why; knows no unit.

    `uses`, `families` and `provenances` say which units it is about, empty being any. `part` names
    what is expected of it in `shared.expectations`, empty where nothing is. `certainty` is that of
    why the item is asked.
    """

    id: str
    room: str
    answer: AnswerKind
    words: str
    why: str
    part: str
    uses: frozenset[str]
    families: frozenset[str]
    provenances: frozenset[str]
    only_high: bool
    inside: bool
    proves: Proves | None
    caution: str
    """The key of a caution, empty where none belongs beside it."""
    source: str
    certainty: Certainty

    def is_about(
        self, *, use: str, family: str | None, provenance: str | None, high: bool | None
    ) -> bool:
        """Say whether such a unit is asked it; what is not known of the unit excludes nothing."""
        return (
            (not self.uses or use in self.uses)
            and _allows(self.families, family)
            and _allows(self.provenances, provenance)
            and not (self.only_high and high is False)
        )


def _allows(among: frozenset[str], value: str | None) -> bool:
    return not among or value is None or value in among


def _words(row: TableRow, column: str) -> frozenset[str]:
    return frozenset(word for word in row[column].split(";") if word)


def _read_row(row: TableRow) -> Check:
    return Check(
        id=row["id"],
        room=row["room"],
        answer=AnswerKind(row["answer"]),
        words=row["words"],
        why=row["why"],
        part=row["part"],
        uses=_words(row, "uses"),
        families=_words(row, "families"),
        provenances=_words(row, "provenances"),
        only_high=row["height"] == "high",
        inside=row["inside"] == "yes",
        proves=Proves(row["proves"]) if row["proves"] else None,
        caution=row["caution"],
        source=row.source,
        certainty=row.certainty,
    )


@cache
def all_checks() -> tuple[Check, ...]:
    """Return every item there is, in the order in which they are gone through."""
    return tuple(map(_read_row, load_table("checklist")))


@lru_cache(maxsize=256)
def checks_about(
    use: str, family: str | None, provenance: str | None, *, high: bool | None
) -> tuple[Check, ...]:
    """Return the items that such a unit is asked, in order; see `Check.is_about`."""
    return tuple(
        check
        for check in all_checks()
        if check.is_about(use=use, family=family, provenance=provenance, high=high)
    )


@cache
def inside_ids() -> tuple[str, ...]:
    """Return the items that nobody can answer from outside."""
    return tuple(check.id for check in all_checks() if check.inside)


@cache
def checks_by_id() -> dict[str, Check]:
    """Return every item by its id; to be read only."""
    return {check.id: check for check in all_checks()}
