"""What the form of a correction asks for: every value that an event of its kind may say.

The inputs follow from the published schema of the kind, so that a new field of an event can be
corrected without a word here. Photos and ids are no one's to type; they stay as they are.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import cache
from typing import Any, Final, Literal

from schemas.base import MONTH
from schemas.events.union import DECISIONS, KINDS
from tracker.judge.revising import is_fixed
from tracker.store.people import FORGOTTEN
from tracker.web.pages.words import field_words, words

Input = Literal["text", "number", "month", "date", "datetime-local", "area", "choice"]
Schema = Mapping[str, Any]
Path = tuple[str | int, ...]

NAMED: Final = "changes."
"""Before the name of each input."""
WAS: Final = "was."
"""Before the name of what an input held when the form was shown."""

_STAYS: Final = frozenset(
    {"id", "kind", "schema_version", "depot", "tag", "reported_by", "source", "new_mark"}
)
_DIGEST: Final = "^[0-9a-f]{64}$"
_LONG: Final = 1000
_YES_OR_NO: Final = ("yes", "no")


@dataclass(frozen=True, slots=True)
class CorrectionField:
    """One input: where its value stands in the event, its words, and what it holds."""

    path: Path
    says: str
    input: Input
    type: str
    value: str
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> str:
        """Return the name of the input."""
        return NAMED + self.dotted

    @property
    def dotted(self) -> str:
        """Return the path as text."""
        return ".".join(map(str, self.path))


@dataclass(slots=True)
class FieldGroup:
    """The inputs of one part of an event; `says` is empty for what the event says of itself."""

    says: str
    fields: list[CorrectionField] = field(default_factory=list)

    @property
    def filled(self) -> list[CorrectionField]:
        """Return the inputs of what the event says."""
        return [one for one in self.fields if one.value]

    @property
    def empty(self) -> list[CorrectionField]:
        """Return the inputs of what it leaves out."""
        return [one for one in self.fields if not one.value]


def groups_for(event: Mapping[str, Any], zone: tzinfo) -> list[FieldGroup]:
    """Return the inputs for an event as it stands, part by part, filled with what it says."""
    groups: dict[str, FieldGroup] = {"": FieldGroup("")}
    for one in _fields_of(event, zone):
        part = " ".join(_words_of(one.path[:-1]))
        groups.setdefault(part, FieldGroup(part)).fields.append(one)
    return [group for group in groups.values() if group.fields]


def read_changes(event: Mapping[str, Any], zone: tzinfo, said: Mapping[str, str]) -> dict[str, Any]:
    """Return what a sent form changes of an event: its fields with their right values, whole.

    A value counts as changed when it differs from what its input held when the form was shown:
    what somebody else has put right in the meantime stays so, and the same form sent twice says
    the same.
    """
    names: dict[str, None] = {}
    revised: dict[str, Any] = copy.deepcopy(dict(event))
    for one in _fields_of(event, zone):
        raw = said.get(one.name, one.value).replace("\r\n", "\n").strip()
        if raw != said.get(WAS + one.dotted, one.value).replace("\r\n", "\n").strip():
            _put(revised, one.path, _read(raw, one.type, zone))
            names[str(one.path[0])] = None
    return {name: _without_gaps(revised[name]) for name in names}


def _fields_of(event: Mapping[str, Any], zone: tzinfo) -> Iterator[CorrectionField]:
    kind = str(event["kind"])
    schema = _schema_of(kind)
    for name, about in schema["properties"].items():
        if name in _STAYS or (name == "mark" and "new_mark" in event):
            continue
        if kind in DECISIONS and (name in ("mark", "happened_at") or is_fixed(kind, name)):
            continue
        yield from _walk((name,), about, event.get(name), schema.get("$defs", {}), zone)


@cache
def _schema_of(kind: str) -> Schema:
    return KINDS[kind].model_json_schema()


def _walk(
    path: Path,
    about: Schema,
    value: Any,  # noqa: ANN401 - JSON
    defs: Schema,
    zone: tzinfo,
) -> Iterator[CorrectionField]:
    """Give the inputs of a value and of all within it; of lists and answers only what is there."""
    about = _resolved(about, defs)
    inner: list[tuple[str | int, Schema, Any]] = []
    if "properties" in about:
        held = value if isinstance(value, dict) else {}
        inner = [(name, one, held.get(name)) for name, one in about["properties"].items()]
    elif "patternProperties" in about:
        (one,) = about["patternProperties"].values()
        inner = [(name, one, item) for name, item in (value or {}).items()]
    elif about.get("type") == "array" and _input_of(_resolved(about["items"], defs)) is None:
        inner = [(at, about["items"], item) for at, item in enumerate(value or ())]
    elif (chosen := _input_of(about)) is not None:
        yield _field(path, about, chosen, value, zone)
    for part, schema, item in inner:
        yield from _walk((*path, part), schema, item, defs, zone)


def _resolved(about: Schema, defs: Schema) -> Schema:
    """Return a schema without the choice of being left out, references followed."""
    options = [one for one in about.get("anyOf", ()) if one.get("type") != "null"]
    if options:
        return _resolved(options[0], defs)
    if "$ref" in about:
        named: Schema = defs[about["$ref"].rpartition("/")[2]]
        return named
    return about


def _input_of(about: Schema) -> tuple[Input, str] | None:
    """Return what a value is typed into, and its type; None for what nobody types."""
    if "enum" in about:
        return "choice", "text"
    pattern = about.get("pattern")
    match about.get("type"), about.get("format"):
        case ("boolean", _):
            return "choice", "yes-no"
        case ("integer", _):
            return "number", "whole"
        case ("number", _):
            return "text", "text"
        case ("array", _) if about["items"].get("pattern") != _DIGEST:
            return "text", "list"
        case ("string", "date"):
            return "date", "text"
        case ("string", "date-time"):
            return "datetime-local", "moment"
        case ("string", None) if pattern == MONTH:
            return "month", "text"
        case ("string", None) if pattern != _DIGEST:
            return ("area" if about.get("maxLength", 0) > _LONG else "text"), "text"
        case _:
            return None


def _field(
    path: Path,
    about: Schema,
    chosen: tuple[Input, str],
    value: Any,  # noqa: ANN401 - JSON
    zone: tzinfo,
) -> CorrectionField:
    choices = about.get("enum", _YES_OR_NO) if chosen[0] == "choice" else ()
    return CorrectionField(
        path=path,
        says=_sentence(_words_of(path)[-1]),
        input=chosen[0],
        type=chosen[1],
        value=_shown(value, chosen[1], zone),
        choices=tuple((one, words(one)) for one in choices),
    )


def _sentence(said: str) -> str:
    """Return words with a capital first; a unit in them keeps its own."""
    return said[:1].upper() + said[1:]


def _words_of(path: Path) -> list[str]:
    return [str(one + 1) if isinstance(one, int) else field_words(one) for one in path]


def _shown(value: Any, type_: str, zone: tzinfo) -> str:  # noqa: ANN401 - JSON
    if value is None:
        return ""
    match type_:
        case "yes-no":
            return "yes" if value else "no"
        case "moment":
            return datetime.fromisoformat(value).astimezone(zone).strftime("%Y-%m-%dT%H:%M")
        case "list":
            return ", ".join(map(str, value))
        case _:
            return str(value)


def _read(raw: str, type_: str, zone: tzinfo) -> Any:  # noqa: ANN401 - JSON
    """Return a typed value; what cannot be read stays text, for the reader of events to refuse."""
    if not raw:
        return None
    match type_:
        case "yes-no":
            return raw == "yes"
        case "whole":
            plain = raw.translate(_UNGROUPED)
            return int(plain) if plain.isascii() and plain.isdigit() and len(plain) < 16 else raw
        case "moment":
            try:
                return datetime.fromisoformat(raw).replace(tzinfo=zone).isoformat()
            except ValueError:
                return raw
        case "list":
            return [part.strip() for part in raw.split(",") if part.strip()]
        case _:
            return raw


_UNGROUPED: Final = str.maketrans("", "", " .,'\u2009\u202f")


def _put(at: Any, path: Path, value: Any) -> None:  # noqa: ANN401 - JSON
    *parents, last = path
    for part in parents:
        if isinstance(at, dict):
            if at.get(str(part)) is None:
                at[str(part)] = {}
            at = at[str(part)]
        else:
            at = at[part]
    at[last] = value


def _without_gaps(value: Any) -> Any:  # noqa: ANN401 - JSON
    """Return a value without what was left empty or has been forgotten; None when all was."""
    if isinstance(value, dict):
        kept = {name: one for name, one in value.items() if one is not None and one != FORGOTTEN}
        return {name: _without_gaps(one) for name, one in kept.items()} or None
    if isinstance(value, list):
        return [_without_gaps(one) for one in value if one is not None]
    return value
