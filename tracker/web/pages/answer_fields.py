"""What the form of an answer asks for: by the field that its question is about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

from schemas.events.settling import Settlement
from schemas.readings import PlateReading

Input = Literal["text", "number", "month", "datetime-local"]


@dataclass(frozen=True, slots=True)
class AnswerField:
    """One input: its name as the form sends it, its words, and what was read there."""

    name: str
    says: str
    input: Input
    value: str = ""


_MASSES: Final = (
    ("gross_kg", "Maximum gross mass (kg)"),
    ("tare_kg", "Tare (kg)"),
    ("payload_kg", "Payload, net (kg)"),
)
_PLATE: Final = ("manufactured_in", "next_examination", "gross_kg", "stacking_kg", "racking_n")
_MONTHS: Final = frozenset({"manufactured_in", "next_examination"})

_WORDS: Final = {
    Settlement.VALUE: "I give the right value",
    Settlement.AS_PAINTED: "It is really painted so; it is to be painted anew",
    Settlement.CONFIRMED: "What was reported did happen",
    Settlement.WITHDRAWN: "The report was a mistake; take it out",
}


def settlements_for(field: str) -> list[tuple[Settlement, str]]:
    """Return the ways in which a question about a field can be settled, with words."""
    about = field.partition(".")[0]
    offered = [Settlement.CONFIRMED, Settlement.WITHDRAWN]
    if about in ("mark", "new_mark", "masses", "size_type", "plate"):
        offered.insert(0, Settlement.AS_PAINTED)
    if fields_for(field, {}):
        # A moment is asked about where the real question is whether it happened.
        offered.insert(1 if about == "happened_at" else 0, Settlement.VALUE)
    return [(one, _WORDS[one]) for one in offered]


def fields_for(field: str, event: dict[str, Any]) -> list[AnswerField]:
    """Return the inputs for the right value, filled with what the event said.

    None where no value can settle it, such as whether something happened.
    """
    about, _, part = field.partition(".")
    match about:
        case "mark" | "new_mark":
            return [AnswerField("right_mark", "The right mark", "text")]
        case "size_type":
            return [AnswerField("size_type", "The right size-type code", "text")]
        case "weighed_tare_kg" | "fittings":
            return [AnswerField("masses.tare_kg:int", "Tare as weighed (kg)", "number")]
        case "masses":
            return [_mass(name, says, event.get("masses") or {}) for name, says in _MASSES]
        case "plate":
            names = [part] if part in PlateReading.model_fields else list(_PLATE)
            return [_plate_line(name, event.get("plate") or {}) for name in names]
        case "happened_at":
            return [AnswerField("at", "When it really happened", "datetime-local")]
        case _:
            return []


def _mass(name: str, says: str, read: dict[str, Any]) -> AnswerField:
    return AnswerField(f"masses.{name}:int", says, "number", str(read.get(name, "")))


def _plate_line(name: str, read: dict[str, Any]) -> AnswerField:
    says = name.replace("_kg", " (kg)").replace("_n", " (N)").replace("_", " ").capitalize()
    value = str(read.get(name, ""))
    if name in _MONTHS:
        return AnswerField(f"plate.{name}", says.replace(" in", " in the month"), "month", value)
    if name.endswith(("_kg", "_lb", "_n")):
        return AnswerField(f"plate.{name}:int", says, "number", value)
    return AnswerField(f"plate.{name}", says, "text", value)
