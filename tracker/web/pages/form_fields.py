"""Fields of a page's form as the JSON of an event; `static/form_fields.js` does the same offline.

A field is named by its path and, unless it is text, its type: `mark`, `masses.tare_kg:int`,
`gas.entered:bool`, `photos:list`, `damages.0.kind`. A part of digits counts the items of a list.
What is left empty is left out. `!damages` with the value `kind` says that an item of that list
without a kind was not filled in, whatever else stands in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

_NEEDS: Final = "!"
_GROUPED: Final = re.compile(r"[\s.,'\u2009\u202f]")


def read_fields(pairs: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """Return what a form says, nested as its names tell; empty fields and lists are left out.

    A whole number may be grouped (`2,230`). One that is none stays text, for the reader of events
    to refuse by its name.
    """
    said: dict[str, Any] = {}
    needs: dict[str, str] = {}
    for name, raw in pairs:
        value = raw.strip()
        if name.startswith(_NEEDS):
            needs[name.removeprefix(_NEEDS)] = value
        elif value:
            _put(said, name, value)
    for path, lead in needs.items():
        _drop_unfilled(said, path, lead)
    tidied: dict[str, Any] = _tidy(said)
    return tidied


def _put(said: dict[str, Any], name: str, value: str) -> None:
    path, _, kind = name.partition(":")
    *parents, last = path.split(".")
    at = said
    for part in parents:
        at = at.setdefault(part, {})
    if kind == "list":
        at.setdefault(last, []).append(value)
    else:
        at[last] = _typed(value, kind)


def _typed(value: str, kind: str) -> str | int | bool:
    match kind:
        case "int":
            plain = _GROUPED.sub("", value)
            return int(plain) if plain.isascii() and plain.isdigit() else value
        case "bool":
            return value == "yes"
        case _:
            return value


def _drop_unfilled(said: dict[str, Any], path: str, lead: str) -> None:
    items = said.get(path)
    if isinstance(items, dict):
        said[path] = {number: item for number, item in items.items() if lead in item}


def _tidy(value: Any) -> Any:  # noqa: ANN401 - JSON
    if not isinstance(value, dict):
        return value
    tidied = {name: _tidy(one) for name, one in value.items()}
    kept = {name: one for name, one in tidied.items() if one not in ({}, [])}
    if kept and all(name.isdigit() for name in kept):
        return [kept[name] for name in sorted(kept, key=int)]
    return kept
