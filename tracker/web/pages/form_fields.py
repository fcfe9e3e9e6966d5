"""Fields of a page's form as the JSON of an event; `static/form_fields.js` does the same offline.

A field is named by its path and, unless it is text, its type: `mark`, `masses.tare_kg:int`,
`gas.entered:bool`, `price:money`, `photos:list`, `damages.0.kind`. A part of digits counts the
items of a list. What is left empty is left out. A `mark` that begins with `#` is the depot's tag
number of a box whose number cannot be read: `#T-12`. `!lines` with the value `what` says that an
item of that list without a `what` was not filled in, whatever else stands in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

from schemas.verdicts import FieldFault
from shared.money import USUAL_DECIMALS, decimals_of
from tracker.web.request_errors import BadRequestError

TAG_SIGN: Final = "#"
_NEEDS: Final = "!"
_DEEPEST: Final = 8
_LONGEST_NUMBER: Final = 18
_MASS: Final = re.compile(r"_(kg|lb|n)$")
_GROUPED: Final = re.compile(r"[0-9]{1,3}([\s.,'\u2019])[0-9]{3}(\1[0-9]{3})*")
_AMOUNT: Final = re.compile(r"([0-9]+)(?:[.,]([0-9]{1,3}))?")
_GROUPED_AMOUNT: Final = re.compile(
    r"([1-9][0-9]{0,2}(?P<sign>[\s.,'\u2019])[0-9]{3}(?:(?P=sign)[0-9]{3})*)"
    r"(?:(?!(?P=sign))[.,]([0-9]{1,3}))?"
)
_THREE: Final = 3
_COULD_BE_TWO: Final = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")
"""A thousand and more, or an amount of a currency with three decimals?"""


class FieldNamesError(BadRequestError):
    """The names of a form's fields do not go together; no page of ours sends such a form."""

    def __init__(self) -> None:
        super().__init__(
            "The fields of this form do not go together",
            expected="the fields of one page, each with the name that the page gives it",
            remedy="Open the page again and fill it in there",
        )


def read_fields(pairs: Iterable[tuple[str, str]], currency: str = "") -> dict[str, Any]:
    """Return what a form says, nested as its names tell; empty fields and lists are left out.

    `currency` is what its amounts are in, where it has no `currency` of its own: `450.500` is three
    decimals in a currency that has them, thousands in one that has none, and either in others.

    A mass (`..._kg`, `..._lb`, `..._n`) may have its thousands apart (`2,230`), and an amount of
    money (`1.450,50`); elsewhere a comma or a dot can only be meant as a decimal sign. What cannot
    be read stays text, for the reader of events to refuse by its name.
    """
    said: dict[str, Any] = {}
    needs: dict[str, str] = {}
    pairs = list(pairs)
    decimals = decimals_in(pairs, currency)
    for name, raw in pairs:
        value = raw.strip()
        if name.startswith(_NEEDS):
            needs[name.removeprefix(_NEEDS)] = value
        elif value:
            _put(said, name, value, decimals)
    for path, lead in needs.items():
        _drop_unfilled(said, path, lead)
    name_by_tag(said)
    tidied: dict[str, Any] = _tidy(said)
    return tidied


def name_by_tag(said: dict[str, Any]) -> None:
    """Let `#T-12`, or `#NORTH/T-12` at NORTH, be the tag number T-12 and no mark."""
    mark = said.get("mark")
    if not (isinstance(mark, str) and mark.startswith(TAG_SIGN)):
        return
    tag = mark.removeprefix(TAG_SIGN).removeprefix(f"{said.get('depot')}/").strip()
    if tag:
        del said["mark"]
        said.setdefault("tag", tag)


def _put(said: dict[str, Any], name: str, value: str, decimals: int) -> None:
    path, _, kind = name.partition(":")
    *parents, last = path.split(".")
    if len(parents) > _DEEPEST:
        raise FieldNamesError
    at = said
    for part in parents:
        at = at.setdefault(part, {})
        if not isinstance(at, dict):
            raise FieldNamesError
    if kind == "list":
        listed = at.setdefault(last, [])
        if not isinstance(listed, list):
            raise FieldNamesError
        listed.append(value)
    else:
        at[last] = _typed(last, value, kind, decimals)


def _typed(name: str, value: str, kind: str, decimals: int) -> str | int | bool:
    match kind:
        case "int":
            plain = value
            if _MASS.search(name) and _GROUPED.fullmatch(value):
                plain = "".join(sign for sign in value if sign.isdigit())
            is_number = plain.isascii() and plain.isdigit() and len(plain) <= _LONGEST_NUMBER
            return int(plain) if is_number else value
        case "bool":
            return value == "yes"
        case "money":
            return read_amount(value, decimals) or value
        case _:
            return value


def decimals_in(pairs: Iterable[tuple[str, str]], currency: str = "") -> int:
    """Return how many decimals the amounts of a form have, by its currency or the one given."""
    named = next((value.strip() for name, value in pairs if name == "currency"), "")
    return decimals_of(named or currency)


def doubtful_amounts(pairs: Iterable[tuple[str, str]], currency: str = "") -> list[FieldFault]:
    """Ask about each amount of a form that can be read in two ways: `450.500` in euros."""
    pairs = list(pairs)
    decimals = decimals_in(pairs, currency)
    found = []
    for name, raw in pairs:
        path, _, kind = name.partition(":")
        value = raw.strip()
        if kind == "money" and could_be_two(value, decimals):
            whole, few = re.split("[.,]", value)
            small = f"{whole}.{few.rstrip('0') or '0'}"
            says = f"{value} can be read as {whole}{few} and as {small}. Write it as one of these."
            found.append(FieldFault(field=path, says=says))
    return found


def could_be_two(text: str, decimals: int) -> bool:
    """Say whether an amount may be thousands as well as three decimals, in its currency."""
    return decimals not in (0, 3) and _COULD_BE_TWO.fullmatch(text) is not None


def read_amount(text: str, decimals: int = USUAL_DECIMALS) -> str | None:
    """Return an amount of money as events write it: `1.450,50`, `1,450.50` and `1450,5` are one.

    None for what can be read in no way, or in two: `1,450` where two decimals are usual.
    """
    if could_be_two(text, decimals):
        return None
    found = _GROUPED_AMOUNT.fullmatch(text) or _AMOUNT.fullmatch(text)
    if decimals == _THREE and _COULD_BE_TWO.fullmatch(text):
        found = _AMOUNT.fullmatch(text)
    if found is None:
        return None
    whole = "".join(one for one in found[1] if one.isdigit())
    cents = found[found.re.groups]
    return whole if cents is None else f"{whole}.{cents}"


def _drop_unfilled(said: dict[str, Any], path: str, lead: str) -> None:
    items = said.get(path)
    if isinstance(items, dict):
        said[path] = {
            number: item
            for number, item in items.items()
            if isinstance(item, dict) and lead in item
        }


def _tidy(value: Any) -> Any:  # noqa: ANN401 - JSON
    if not isinstance(value, dict):
        return value
    tidied = {name: _tidy(one) for name, one in value.items()}
    kept = {name: one for name, one in tidied.items() if one not in ({}, [])}
    if kept and all(name.isascii() and name.isdigit() for name in kept):
        return [kept[name] for name in sorted(kept, key=_place)]
    return kept


def _place(number: str) -> tuple[int, str]:
    """Return what numbers without a sign are sorted by, however long they are."""
    plain = number.lstrip("0")
    return len(plain), plain
