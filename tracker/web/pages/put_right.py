"""A form that cannot be read, asked for again: only what is wrong, all else kept as it was sent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from schemas.verdicts import FieldFault
from tracker.web.pages.form_fields import read_fields
from tracker.web.pages.words import field_words

Sent = Sequence[tuple[str, str]]
"""The fields of a form as they were sent: name and value."""
Choices = Mapping[str, Sequence[tuple[str, str]]]
"""What may be chosen for a field, each value with its words."""

LABELS: Final = {
    "mark": "Number on the box",
    "size_type": "Size code",
    "masses.gross_kg": "Gross",
    "masses.tare_kg": "Tare",
    "masses.payload_kg": "Payload",
    "damage_on_lorry": "Damage seen before it is lifted off",
    "placards": "Placards or a fumigation label, in their words",
    "vehicle": "Lorry's plate",
    "slot": "Where it is set down",
    "to_depot": "To which depot of ours",
}
"""What the pages call a field otherwise than by its own name."""


@dataclass(frozen=True, slots=True)
class FieldToMend:
    """One field of a form that is wrong: its name in the form, its label, and what is wrong."""

    name: str
    label: str
    value: str
    says: str
    choices: tuple[tuple[str, str], ...] = ()


def fields_to_mend(
    sent: Sent, faults: Sequence[FieldFault], choices: Choices | None = None
) -> list[FieldToMend]:
    """Return the fields of a form that its faults are about, each once."""
    values = dict(sent)
    # Each filled field says its own name: so an event's path leads back to the form's field.
    named = read_fields(
        (name, value if name.startswith("!") else name if value.strip() else "")
        for name, value in sent
    )
    found: dict[str, FieldToMend] = {}
    for fault in faults:
        name = _find_name(named, fault.field) or fault.field or "mark"
        field = FieldToMend(
            name=name,
            label=_label_of(name),
            value=values.get(name, ""),
            says=fault.says,
            choices=tuple((choices or {}).get(name, ())),
        )
        found.setdefault(name, field)
    return list(found.values())


def kept_fields(sent: Sent, asked: Sequence[FieldToMend]) -> list[tuple[str, str]]:
    """Return the fields of a form that stay as they were sent."""
    names = {field.name for field in asked}
    return [(name, value) for name, value in sent if name not in names]


def _find_name(named: Any, path: str) -> str | None:  # noqa: ANN401 - JSON
    at = named
    for part in path.split("."):
        if isinstance(at, dict):
            at = at.get(part)
        elif isinstance(at, list) and part.isdigit() and int(part) < len(at):
            at = at[int(part)]
        else:
            return None
    return at if isinstance(at, str) else None


def _label_of(name: str) -> str:
    path = name.partition(":")[0]
    if path in LABELS:
        return LABELS[path]
    words = " ".join(field_words(part) for part in path.split(".") if not part.isdigit())
    return words[:1].upper() + words[1:]
