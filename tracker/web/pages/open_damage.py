"""Open damage in words, with what the control table calls serious, and the holds it speaks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from schemas.events.hold import HoldKind
from schemas.records import LiveHold, OpenDamage, Record
from shared.damage import Component, DamageKind, words_for
from shared.damage_locations import DamageLocationError, parse_location
from tracker.judge import damage as weights

_URGENCIES: Final = ("before-release", "soon", "when-convenient")


@dataclass(frozen=True, slots=True)
class Mending:
    """One open damage in words."""

    id: str
    words: str
    where: str
    urgency: str
    mend_by: str | None
    is_late: bool
    serious: str
    """What makes it a serious deficiency by the control table; empty where it is none."""
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OfferedHold:
    """A hold that open damage speaks for and that nobody has put yet, with the reason."""

    hold: HoldKind
    because: str


def mendings_of(unit: Mapping[str, Any], today: date | None = None) -> tuple[Mending, ...]:
    """Return the open damage of a record as JSON: serious first, then the most urgent.

    Without `today` nothing is called late.
    """
    record = _record_of(unit)
    shown = [_mending(one, record, today) for one in record.damages]
    return tuple(sorted(shown, key=lambda one: (not one.serious, _URGENCIES.index(one.urgency))))


def offered_holds(unit: Mapping[str, Any]) -> list[OfferedHold]:
    """Return the holds that a record's open damage speaks for, as long as it stands somewhere."""
    if unit["presence"] != "in-depot":
        return []
    return [OfferedHold(hold, words) for hold, words in weights.holds_open(_record_of(unit))]


def _record_of(unit: Mapping[str, Any]) -> Record:
    """Return of a record as JSON what weighing takes."""
    return Record(
        unit["unit_id"],
        plate=unit["plate"],
        damages=[OpenDamage(**one) for one in unit["damages"]],
        holds=[LiveHold(**one) for one in unit["holds"]],
    )


def _mending(damage: OpenDamage, record: Record, today: date | None) -> Mending:
    size = f", {damage.measured_mm} mm" if damage.measured_mm is not None else ""
    if damage.count is not None:
        size += f", {damage.count}" + (f" of {damage.out_of}" if damage.out_of else "")
    part, kind = words_for(Component(damage.component)), words_for(DamageKind(damage.kind))
    return Mending(
        id=damage.id,
        words=f"{part.capitalize()}: {kind}{size}",
        where=_where(damage.place),
        urgency=damage.urgency,
        mend_by=damage.mend_by,
        is_late=today is not None and is_before(damage.mend_by, today),
        serious=weights.serious_words(damage, record),
        photos=tuple(damage.photos),
    )


def is_before(day: str | None, today: date) -> bool:
    """Say whether a day of the record lies before today."""
    return day is not None and date.fromisoformat(day) < today


def _where(place: str | None) -> str:
    if place is None:
        return ""
    try:
        return f"{place}: {parse_location(place).describe()}"
    except DamageLocationError:
        return place
