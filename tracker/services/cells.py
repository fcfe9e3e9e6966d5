"""Events from cells of text, as CSV and options give them: dotted names, types by the schema."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import orjson
from pydantic import ValidationError

from schemas.events.union import EVENT, KINDS

_YES_NO: Final = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


def as_event(cells: Mapping[str, str]) -> dict[str, Any]:
    """Return what cells say as an event: `masses.gross_kg` nested, numbers and yes/no as such.

    Which cell is a number only the schema knows: it is asked, and what it finds to be text where
    a number, a yes or no, or a list belongs is read as that. What cannot be read so stays text,
    and is refused by its name later. A list is written as JSON in its cell.
    """
    said: dict[str, Any] = {}
    for name, cell in cells.items():
        _put(said, name.split("."), cell)
    try:
        EVENT.validate_json(orjson.dumps(said))
    except ValidationError as fault:
        for error in fault.errors(include_url=False, include_context=False, include_input=False):
            _retype(said, error["type"], [*error["loc"]])
    return said


def _put(said: dict[str, Any], path: list[str], cell: str) -> None:
    for step in path[:-1]:
        inner = said.setdefault(step, {})
        if not isinstance(inner, dict):  # both `plate` and `plate.gross_kg` are there
            said[".".join(path)] = cell
            return
        said = inner
    said[path[-1]] = cell


def _retype(said: dict[str, Any], wrong: str, path: list[int | str]) -> None:
    if path and path[0] in KINDS:
        path = path[1:]
    for step in path[:-1]:
        inner = said.get(str(step))
        if not isinstance(inner, dict):
            return
        said = inner
    cell = said.get(str(path[-1])) if path else None
    if isinstance(cell, str):
        said[str(path[-1])] = _read_as(wrong, cell)


def _read_as(wrong: str, cell: str) -> object:
    if wrong == "bool_type":
        return _YES_NO.get(cell.lower(), cell)
    if wrong == "int_type":
        return int(cell) if cell.lstrip("-").isdecimal() and len(cell) < _LONGEST else cell
    if wrong in ("tuple_type", "list_type", "model_type", "dict_type"):
        try:
            return orjson.loads(cell)
        except orjson.JSONDecodeError:
            return cell
    return cell


_LONGEST: Final = 18
"""Digits of the longest number that JSON's reader takes for one."""
