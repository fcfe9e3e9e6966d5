"""Which unit somebody means: by its mark, the last digits of it, or the depot's tag number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, NamedTuple

from fastapi import Request
from fastapi.responses import HTMLResponse

from schemas.verdicts import FieldFault
from shared import marks
from tracker.services import sight
from tracker.services.actor import Person
from tracker.services.unit_view import UnitUnknownError
from tracker.store.queries import StockFilter
from tracker.web.means import WebMeans
from tracker.web.pages.form_fields import TAG_SIGN, name_by_tag
from tracker.web.pages.report_form import Filled, ask_again
from tracker.web.pages.words import short_size

_MOST_LIKELY: Final = 12
_LONGEST_DIGITS: Final = 7
_ANOTHER: Final = "another box, and no more of its number can be read"
_AWAY_FROM_HERE: Final = ("expected", "away")


class Meant(NamedTuple):
    """A unit that somebody may mean, by what is typed for it into the field of a number."""

    name: str
    size_type: str | None
    slot: str | None

    @property
    def words(self) -> str:
        """What it is chosen by."""
        told = [self.name, short_size(self.size_type), self.slot and f"at {self.slot}"]
        return ", ".join(filter(None, told))


def is_last_digits(text: str) -> bool:
    """Say whether a text is the last digits of a mark, as a driver reads them."""
    digits = "".join(text.split())
    return digits.isascii() and digits.isdigit() and len(digits) <= _LONGEST_DIGITS


def typed_name(unit: Mapping[str, Any]) -> str:
    """Return what is typed into the field of a number for a unit: its mark, or its tag number."""
    return str(unit["mark"] or f"{TAG_SIGN}{unit['tag']}")


def _meant(unit: Mapping[str, Any]) -> Meant:
    return Meant(typed_name(unit), unit["size_type"], unit["slot"])


def address_of(depot: str, typed: str) -> str:
    """Return what a unit is looked up by, from what is typed into the field of a number."""
    return f"#{depot}/{typed.removeprefix(TAG_SIGN)}" if typed.startswith(TAG_SIGN) else typed


def find_meant(means: WebMeans, person: Person, depot: str, text: str) -> list[Meant]:
    """Return the units of a depot that a text may mean; none for a whole mark.

    The one with that tag number, and those in the depot whose mark ends with those digits.
    """
    if marks.find_compact(text) is not None:
        return []
    tagged = _find_tagged(means, person, depot, text)
    return [*tagged, *_ending_so(means, person, text, depot=depot, presence="in-depot")]


def find_coming(means: WebMeans, person: Person, text: str) -> list[Meant]:
    """Return the units that may arrive and whose mark ends so; those expected first."""
    return [
        one
        for presence in _AWAY_FROM_HERE
        for one in _ending_so(means, person, text, presence=presence)
    ]


def ask_which(
    request: Request, means: WebMeans, person: Person, filled: Filled
) -> HTMLResponse | None:
    """Ask which unit of the depot a form's number means; None where it says so itself.

    A tag number typed as it is, without its sign, is taken for one.
    """
    said = filled.event
    mark, depot = str(said.get("mark", "")), str(said.get("depot", ""))
    if not mark or filled.is_sure("mark"):
        return None
    found = find_meant(means, person, depot, mark)
    if len(found) == 1 and not is_last_digits(mark):
        said["mark"] = found[0].name
        name_by_tag(said)
        return None
    if not found:
        return None
    fault, choices = which_is_meant(mark, found)
    return ask_again(request, filled, [fault], {"mark": choices}, sure="mark")


def which_is_meant(typed: str, found: Sequence[Meant]) -> tuple[FieldFault, list[tuple[str, str]]]:
    """Ask which unit was meant, with what may be chosen; what was typed may stand as it is."""
    fault = FieldFault(
        field="mark",
        says=f"{typed} may be one of these. Compare the whole number with the box, then choose.",
    )
    return fault, [*((one.name, one.words) for one in found), (typed, _ANOTHER)]


def _find_tagged(means: WebMeans, person: Person, depot: str, text: str) -> list[Meant]:
    tag = text.strip().removeprefix(TAG_SIGN).upper().removeprefix(f"{depot}/")
    try:
        named = address_of(depot, f"{TAG_SIGN}{tag}")
        record = sight.show(means.context, sight.sight_of(person), named).record
    except UnitUnknownError:
        return []
    return [_meant(record | {"tag": tag})]


def _ending_so(means: WebMeans, person: Person, text: str, **wanted: str) -> list[Meant]:
    if not is_last_digits(text):
        return []
    asked = StockFilter(digits="".join(text.split()), **wanted)  # type: ignore[arg-type] # texts
    found = sight.list_stock(means.context, sight.sight_of(person), asked, size=_MOST_LIKELY)
    return [_meant(one) for one in found]
