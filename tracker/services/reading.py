"""Reading what was handed in: one event, its canonical text, its digest, its personal values."""

from __future__ import annotations

import hashlib
import hmac
from functools import cache
from typing import Any, Final, get_args
from uuid import UUID

import orjson
from pydantic import ValidationError
from pydantic.fields import FieldInfo

from schemas.base import Model, Personal
from schemas.events.base import Decision, Event, Fact
from schemas.events.union import EVENT, KINDS
from schemas.verdicts import FieldFault
from shared.errors import HardstandError

_LONGEST_NAME: Final = 60


_LETTERS: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"


class EventUnreadableError(HardstandError):
    """Something handed in is no event; says which field is wrong and what it should be."""

    def __init__(self, fault: ValidationError) -> None:
        self.faults = faults_of(fault)
        super().__init__(
            describe(fault), remedy="`hardstand schema` prints what every kind consists of"
        )


def read_event(body: bytes | str) -> Fact | Decision:
    """Read one event from JSON; raises `EventUnreadableError`."""
    try:
        return EVENT.validate_json(body)
    except ValidationError as fault:
        raise EventUnreadableError(fault) from None


def canonical(event: Event) -> str:
    """Return the event as text in its one form: set fields, in the schema's order."""
    return event.model_dump_json(exclude_none=True)


def digest_of(key: bytes, body: str) -> bytes:
    """Return a keyed digest of canonical text: the same for the same content, telling nothing."""
    return hmac.digest(key, body.encode(), hashlib.sha256)


def reference_for(key: bytes, event_id: UUID) -> str:
    """Return the collection reference for a release: hard to guess, the same each time.

    Sixty bits of a keyed digest, in letters and digits that are not mistaken for one another.
    """
    digest = hmac.digest(key, b"collection\x00" + event_id.bytes, hashlib.sha256)
    number = int.from_bytes(digest[:8], "big")
    letters = [_LETTERS[number >> 5 * place & 31] for place in range(12)]
    return "-".join("".join(letters[start : start + 4]) for start in (0, 4, 8))


def describe(fault: ValidationError) -> str:
    """Say in plain words what is wrong with each field, without repeating what was sent."""
    return "; ".join(_describe_one(error) for error in fault.errors(include_url=False))


def faults_of(fault: ValidationError) -> tuple[FieldFault, ...]:
    """Return what is wrong with each field, in words for whoever filled in a form."""
    return tuple(
        FieldFault(field=_where(error), says=_say_to_a_person(error))
        for error in fault.errors(include_url=False)
    )


def _say_to_a_person(error: Any) -> str:  # noqa: ANN401 - pydantic's ErrorDetails
    match error["type"]:
        case "missing":
            return "It is missing."
        case "string_pattern_mismatch":
            return "It is not written as it should be."
        case "string_too_long":
            return f"It is too long: at most {error['ctx']['max_length']} characters."
        case "int_type" | "int_parsing":
            return "Give a whole number, without letters."
        case _:
            said = _shown(error["msg"].removeprefix("Value error, ").removeprefix("Input "))
            return f"{said[:1].upper()}{said[1:]}."


def _where(error: Any) -> str:  # noqa: ANN401 - pydantic's ErrorDetails
    path = [_plain(str(part)) for part in error["loc"]]
    if path and path[0] in KINDS:
        path = path[1:]
    return ".".join(path)


def _describe_one(error: Any) -> str:  # noqa: ANN401 - pydantic's ErrorDetails
    where = _where(error)
    match error["type"]:
        case "union_tag_invalid":
            tag = _plain(error["ctx"]["tag"])
            return f"kind: '{tag}' is unknown; expected one of {', '.join(KINDS)}"
        case "union_tag_not_found":
            return f"kind: is missing; expected one of {', '.join(KINDS)}"
        case "extra_forbidden":
            return f"{where}: no such field"
        case "missing":
            return f"{where}: is missing"
        case "int_type" | "int_parsing" | "int_from_float":
            return f"{where}: should be a whole number, without a comma or a dot"
        case "json_invalid":
            return f"it is no JSON: {_shown(str(error['ctx']['error']))}"
        case "decimal_parsing" | "decimal_type":
            return f"{where}: is no number such as 1450.50"
        case _:
            said = _shown(error["msg"].removeprefix("Value error, "))
            return f"{where}: {said}" if where else said


def _plain(sent: str) -> str:
    """Return a name that a stranger chose as it may be shown and kept: short, without controls."""
    return _shown(sent if len(sent) <= _LONGEST_NAME else sent[:_LONGEST_NAME] + "...")


def _shown(said: str) -> str:
    """Return a text as it may be shown and kept: what a stranger sent may be quoted in it."""
    return said if said.isprintable() else said.encode("unicode_escape").decode()


@cache
def personal_fields(kind: str) -> frozenset[str]:
    """Return the fields of a kind that are about people."""
    return frozenset(
        name
        for name, field in KINDS[kind].model_fields.items()
        if any(isinstance(mark, Personal) for mark in _marks(field))
    )


@cache
def _nested_fields(kind: str) -> tuple[tuple[str, frozenset[str]], ...]:
    """Return the fields of a kind that hold a model, each with those in it about people."""
    return tuple(
        (name, personal)
        for name, field in KINDS[kind].model_fields.items()
        if (personal := _personal_of(field))
    )


def _personal_of(field: FieldInfo) -> frozenset[str]:
    inner = (field.annotation, *get_args(field.annotation))
    models = [one for one in inner if isinstance(one, type) and issubclass(one, Model)]
    return frozenset(
        name
        for model in models
        for name, part in model.model_fields.items()
        if any(isinstance(mark, Personal) for mark in _marks(part))
    )


@cache
def _all_personal_fields() -> frozenset[str]:
    return frozenset().union(*(personal_fields(kind) for kind in KINDS))


@cache
def _all_nested_fields() -> tuple[tuple[str, frozenset[str]], ...]:
    return tuple(dict.fromkeys(nested for kind in KINDS for nested in _nested_fields(kind)))


def personal_values(payload: dict[str, Any]) -> set[str]:
    """Return everything in an event that is about people, one model deep."""
    kind = payload["kind"]
    values = _values(payload, personal_fields(kind), _nested_fields(kind))
    if changes := payload.get("changes"):
        values |= _values(changes, _all_personal_fields(), _all_nested_fields())
    return values


def with_tokens(payload: dict[str, Any], tokens: dict[str, str]) -> dict[str, Any]:
    """Return the event with its personal values replaced by their tokens."""
    kind = payload["kind"]
    told = _replace(payload, personal_fields(kind), _nested_fields(kind), tokens)
    if changes := told.get("changes"):
        told["changes"] = _replace(changes, _all_personal_fields(), _all_nested_fields(), tokens)
    return told


_Nested = tuple[tuple[str, frozenset[str]], ...]


def _values(said: dict[str, Any], names: frozenset[str], nested: _Nested) -> set[str]:
    found = {value for name in names if isinstance(value := said.get(name), str)}
    for outer, inner in nested:
        if isinstance(part := said.get(outer), dict):
            found |= {value for name in inner if isinstance(value := part.get(name), str)}
    return found


def _replace(
    said: dict[str, Any], names: frozenset[str], nested: _Nested, tokens: dict[str, str]
) -> dict[str, Any]:
    told = dict(said)
    for name in names:
        value = told.get(name)
        if isinstance(value, str):
            told[name] = tokens[value]
    for outer, inner in nested:
        if isinstance(part := told.get(outer), dict):
            told[outer] = _replace(part, inner, (), tokens)
    return told


def parse_text(body: str) -> dict[str, Any]:
    """Return canonical text as JSON."""
    parsed: dict[str, Any] = orjson.loads(body)
    return parsed


def _marks(field: Any) -> list[Any]:  # noqa: ANN401 - pydantic's FieldInfo
    """Return a field's annotations, those inside `X | None` included."""
    marks = list(field.metadata)
    for inner in getattr(field.annotation, "__args__", ()):
        marks.extend(getattr(inner, "__metadata__", ()))
    return marks
