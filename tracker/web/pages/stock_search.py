"""What a person asks the stock for: the fields of the search form, and what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Annotated, Any, Final
from urllib.parse import urlencode

from fastapi import Query
from pydantic import BaseModel, ConfigDict, Field

from schemas.events.condition import Condition
from schemas.events.gate import Provenance
from shared.months import Month
from shared.size_type_tables import heights, lengths
from shared.size_types import HIGHEST_WITHOUT_MARKS_MM
from shared.table_files import load_table
from shared.work import starting_catalogue
from tracker.store.queries import StockFilter

_LONGEST: Final = 60
_FIRST_YEAR: Final = 1950
_LAST_YEAR: Final = 2199

_Word = Annotated[str, Field(max_length=_LONGEST, pattern=r"^[^\x00]*$")]
_Number = Annotated[str, Field(max_length=4, pattern=r"^\d*$")]


class StockSearch(BaseModel):
    """The form as it was sent: text, what is empty asks for nothing. Other fields are let be."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    mark: _Word = ""
    depot: _Word = ""
    presence: _Word = ""
    stands: _Word = ""
    length: _Number = ""
    high: _Word = ""
    kind: _Word = ""
    condition: _Word = ""
    provenance: _Word = ""
    colour: _Word = ""
    fitting: list[_Word] = Field(default_factory=list, max_length=10)
    made_from: _Number = ""
    made_until: _Number = ""
    lasts: _Number = ""
    """So many months until the examination, or more."""

    def wanted(self, today: date, **fixed: str) -> StockFilter:
        """Return the filter it means; `fixed` are fields that stand whatever was asked."""
        said = {
            name: getattr(self, name) or None
            for name in ("depot", "presence", "stands", "condition", "provenance", "colour")
        }
        return StockFilter(
            **{**said, **fixed},  # type: ignore[arg-type] # texts all
            **_of_mark("".join(self.mark.upper().split())),
            lengths=_codes_of_length(self.length) if self.length else None,
            heights=_codes_of_height(high=self.high == "yes") if self.high else None,
            types=[self.kind] if self.kind else None,
            fittings=[name for name in self.fitting if name],
            made_from=_day_of_year(self.made_from, 1, 1),
            made_until=_day_of_year(self.made_until, 12, 31),
            examination_from=_month_ahead(today, self.lasts),
        )

    def query(self, **changes: str | None) -> str:
        """Return it as the query of an address, with some fields changed; None leaves one out."""
        said: dict[str, Any] = self.model_dump() | changes
        said["fitting"] = [value for value in self.fitting if value]
        return urlencode({name: value for name, value in said.items() if value}, doseq=True)

    @property
    def is_narrow(self) -> bool:
        """Say whether more is asked for than a depot and how far the deal has come."""
        named = (self.mark, self.length, self.high, self.kind, self.condition)
        return any(named) or self.asks_more

    @property
    def asks_more(self) -> bool:
        """Say whether one of the fields is filled that the form folds away."""
        folded = {"provenance", "colour", "fitting", "made_from", "made_until", "lasts"}
        said = self.model_dump(include=folded)
        return any(said.pop("fitting")) or any(said.values())


TheSearch = Annotated[StockSearch, Query()]


@dataclass(frozen=True, slots=True)
class Choices:
    """What the fields of the form offer: values with the words that stand for them."""

    lengths: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    conditions: tuple[str, ...]
    provenances: tuple[str, ...]
    fittings: tuple[tuple[str, str], ...]


@cache
def choices() -> Choices:
    """Return what the form offers, from the tables of the trade."""
    feet = sorted({one.feet for one in lengths().values() if one.feet and not one.feet % 1})
    families = {row["letter"]: row["meaning"] for row in reversed(load_table("size_type_families"))}
    lasting = (item for item in starting_catalogue().values() if item.reported_as == "modification")
    return Choices(
        lengths=tuple((str(int(one)), f"{int(one)} ft") for one in feet if 10 <= one <= 45),
        kinds=tuple((letter, families[letter]) for letter in "GVURHTPBSNKA" if letter in families),
        conditions=tuple(one.value for one in Condition),
        provenances=tuple(one.value for one in Provenance),
        fittings=tuple((item.name, item.name.replace("-", " ")) for item in lasting),
    )


def _of_mark(text: str) -> dict[str, Any]:
    """Digits alone are the last of a mark; all else is what it begins with."""
    if text.isascii() and text.isdigit():
        return {"digits": text}
    return {"mark_begins": text or None}


def _codes_of_length(feet: str) -> list[str]:
    return [code for code, one in lengths().items() if one.feet == int(feet)]


def _codes_of_height(*, high: bool) -> list[str]:
    return [code for code, one in heights().items() if (one.mm > HIGHEST_WITHOUT_MARKS_MM) is high]


def _day_of_year(year: str, month: int, day: int) -> date | None:
    if not year or not _FIRST_YEAR <= int(year) <= _LAST_YEAR:
        return None
    return date(int(year), month, day)


def _month_ahead(today: date, months: str) -> date | None:
    return Month.of(today).plus(min(int(months), 240)).first_day() if months else None
