"""The invented lives that the benchmark records: each unit comes, is worked on, sold, and goes."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from shared import marks
from shared.ids import new_id

Event = dict[str, Any]

_DEPOTS: Final = ("NORTH", "SOUTH")
_PEOPLE: Final = ("Ada Quill", "Ben Marrow", "Cleo Tarn", "Dov Sedge")
_BEGIN: Final = datetime(2026, 1, 5, 8, tzinfo=UTC)
_MASSES: Final = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
PLATE: Final = {
    "approval_reference": "XX/QQ-7/2025",
    "manufactured_in": "2025-01",
    "manufacturer_number": "Q-7",
    "gross_kg": 30480,
    "stacking_kg": 216000,
    "racking_n": 150000,
    "next_examination": "2029-12",
}
_GASKET: Final = {"component": "door-gasket", "kind": "cut", "urgency": "before-release"}


class Unit:
    """One unit and the clock of its life: each event happens five hours after the last."""

    def __init__(self, chance: random.Random, number: int) -> None:
        """Name the unit of a number."""
        first_ten = f"{('ZZZ', 'QQX', 'HQX')[number % 3]}U{number:06d}"
        self.mark = first_ten + marks.check_digit(first_ten)
        self.depot = _DEPOTS[number % 2]
        self._chance = chance
        self._at = _BEGIN + timedelta(minutes=number)

    def event(self, kind: str, **fields: Any) -> Event:  # noqa: ANN401 - fields of any kind
        """Return the next event of its life."""
        self._at += timedelta(hours=5)
        return {
            "kind": kind,
            "id": str(new_id()),
            "depot": self.depot,
            "mark": self.mark,
            "happened_at": self._at.isoformat(),
            "reported_by": self._chance.choice(_PEOPLE),
        } | fields

    def later(self, days: int) -> str:
        """Return a moment so many days on."""
        return (self._at + timedelta(days=days)).isoformat()


def life(chance: random.Random, number: int) -> Iterator[Event]:
    """Return the events of one unit in their order; every kind comes up in some lives.

    About 3 % of all events carry a doubt (weights that do not add up, which somebody answers), 1 %
    are refused (a second buyer, a collection reference used twice).
    """
    unit = Unit(chance, number)
    yield from _arrives(unit, chance, number)
    yield from _is_worked_on(unit, chance, number)
    if chance.random() < 0.02:
        yield unit.event("disposal", manner="scrapped")
    elif chance.random() < 0.6:
        yield from _is_sold_and_goes(unit, chance, number)
    else:
        yield from _stays(unit, number)


def sold_and_here(number: int) -> Iterator[Event]:
    """Return the events of a unit that is sold and has not left."""
    chance = random.Random(number)  # noqa: S311 - a made-up life, no secret
    unit = Unit(chance, number)
    yield from _arrives(unit, chance, number)
    yield from _is_worked_on(unit, chance, number)
    yield unit.event("sale", buyer="Buyer", intended_use="storage", paid=True)


def _arrives(unit: Unit, chance: random.Random, number: int) -> Iterator[Event]:
    event = unit.event
    if number % 5 == 0:
        yield event("pre-advice", batch=f"LOT-{number // 100}", size_type="22G1", masses=_MASSES)
    wrong = chance.random() < 0.35
    masses = _MASSES | {"payload_kg": 28000} if wrong else _MASSES
    yield event("gate-in", size_type="22G1", masses=masses, slot=f"A{number % 40}-{number % 7}")
    yield event(
        "acquisition",
        owner="Hardstand Depots",
        title_evidence=f"S-{number}",
        title_passed_on="2026-01-02",
        customs="free-circulation",
    )
    torn = [_GASKET] if number % 4 == 0 else []
    yield event("inspection", condition="cargo-worthy", plate=PLATE, damages=torn)
    if torn:
        yield event("repair")
    here = event("restow", slot=f"B{number % 40}-{number % 5}")
    yield here
    if chance.random() < 0.05:
        changes = {"slot": "B0-0"}
        yield event("correction", corrects=here["id"], changes=changes, reason="misread")


def _is_worked_on(unit: Unit, chance: random.Random, number: int) -> Iterator[Event]:
    event = unit.event
    order = event("work-order", lines=[{"work": "louvre-vent", "count": 4}])
    yield order
    vents = [{"work": "louvre-vent", "count": 4, "mass_kg": 3}]
    yield event("modification", fittings=vents, order=order["id"])
    yield event("marking", action="repainted", masses={"gross_kg": 30480, "tare_kg": 2242})
    yield event("sighting", slot=f"B{number % 40}-{number % 5}")
    if chance.random() < 0.1:
        yield event("survey", by="Tarn", certificate=f"C-{number}")
    if chance.random() < 0.05:
        yield event("plate-change", action="replaced", plate=PLATE)
    held = event("hold", hold="do-not-release", reason="look again")
    yield held
    yield event("hold-cleared", clears=held["id"], evidence="looked at")
    yield event("examination", passed=True, by="Tarn", next_examination="2030-06")


def _is_sold_and_goes(unit: Unit, chance: random.Random, number: int) -> Iterator[Event]:
    event, buyer = unit.event, f"Buyer {number % 300}"
    if chance.random() < 0.3:
        kept = event("reservation", buyer=buyer, until=unit.later(60))
        yield kept
        if chance.random() < 0.3:
            yield event("cancellation", cancels=kept["id"], reason="thought better of it")
    yield event(
        "sale", buyer=buyer, intended_use="storage", price="2150.00", currency="EUR", paid=True
    )
    if chance.random() < 0.2:
        yield event("sale", buyer="Too late", intended_use="storage", paid=True)
    reference = f"Q7-{number:06d}"
    yield event("release", reference=reference, haulier="Tarn Haulage")
    yield event("clearance", reference=reference, haulier="Tarn Haulage")
    if chance.random() < 0.1:
        yield event("clearance", reference=reference, haulier="Tarn Haulage")
    yield event("gate-out", purpose="sale", reference=reference, haulier="Tarn Haulage")
    yield event("delivery", outcome="delivered", received_by="Ola Fenn")
    if chance.random() < 0.1:
        yield event("complaint", about="a door that sticks")
        yield event("take-back", reason="a door that sticks")
        yield event("gate-in", purpose="take-back", slot="D1-1")


def _stays(unit: Unit, number: int) -> Iterator[Event]:
    yield unit.event("restow", slot=f"C{number % 40}-{number % 5}")
    yield unit.event("gate-out", purpose="outside-repair")
    yield unit.event("gate-in", slot="D1-1")
