"""What the workshop does, as data: each piece of work with its mass, its steel and its effects."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from shared.cautions import CAUTIONS
from shared.table_files import Certainty, TableRow, load_table


class ApprovalEffect(StrEnum):
    """What work does to the safety approval, from the weakest to the strongest.

    `ASK` leaves it open until the approving body has answered, `VOID` ends it until the unit is
    approved anew.
    """

    NONE = "none"
    ASK = "ask"
    VOID = "void"


_STRENGTHS: Final = tuple(ApprovalEffect)


def strongest(effects: Iterable[ApprovalEffect]) -> ApprovalEffect:
    """Return the strongest of some effects; `NONE` when there are none."""
    return max(effects, key=_STRENGTHS.index, default=ApprovalEffect.NONE)


class ReportedAs(StrEnum):
    """The kind of event that tells of the work done."""

    MODIFICATION = "modification"
    REPAIR = "repair"
    MARKING = "marking"


@dataclass(frozen=True, slots=True)
class WorkItem:
    """One piece of work. Says what it usually is; what was done, the event says.

    `mass_kg` is of one piece, None where it cannot be said beforehand. `cuts` says which steel is
    taken out and not put back alike, and where; empty when none is; `cut_out_kg` is its mass.
    `price` is of one piece, without tax, in the house's currency. `caution` is a key of
    `shared.cautions.CAUTIONS` or words of the house's own. `certificate` names what must come with
    the work, empty where nothing must.
    """

    name: str
    words: str
    mass_kg: int | None
    cuts: str
    cut_out_kg: int
    permanent: bool
    labour_min: int
    price: Decimal | None
    approval_effect: ApprovalEffect
    caution: str
    certificate: str
    reported_as: ReportedAs
    source: str
    certainty: Certainty

    @property
    def caution_words(self) -> str:
        """Return its caution in words, empty where none belongs beside it."""
        return CAUTIONS.get(self.caution, self.caution)


def _read_row(row: TableRow) -> WorkItem:
    return WorkItem(
        name=row["name"],
        words=row["words"],
        mass_kg=int(row["mass_kg"]) if row["mass_kg"] else None,
        cuts=row["cuts"],
        cut_out_kg=int(row["cut_out_kg"]),
        permanent=row["permanent"] == "yes",
        labour_min=int(row["labour_min"]),
        price=Decimal(row["price"]) if row["price"] else None,
        approval_effect=ApprovalEffect(row["approval"]),
        caution=row["caution"],
        certificate=row["certificate"],
        reported_as=ReportedAs(row["reported_as"]),
        source=row.source,
        certainty=row.certainty,
    )


@cache
def starting_catalogue() -> Mapping[str, WorkItem]:
    """Return the work that a house starts with, by name, in the order of the table."""
    items = map(_read_row, load_table("work_catalogue"))
    return MappingProxyType({item.name: item for item in items})
