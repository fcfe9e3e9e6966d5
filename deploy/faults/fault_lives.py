"""The lives of invented units that faults meet: told of months later, so that facts come late."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, Final

import orjson

from deploy.bench.bench_life import PLATE
from shared import marks
from shared.ids import new_id

_DEPOTS: Final = ("NORTH", "SOUTH")
_PEOPLE: Final = ("Ada Quill", "Ben Marrow", "Cleo Tarn", "Dov Sedge")
_BEGIN: Final = datetime(2026, 1, 5, 8, tzinfo=UTC)


def bodies(count: int, units: int, seed: int = 7) -> list[bytes]:
    """Return `count` events over about `units` units as JSON, in the order they are sent.

    About 3 % carry a doubt, 1 % are refused, 1 % come late; all common kinds are there.
    """
    chance = random.Random(seed)  # noqa: S311 - a made-up stream, no secret
    lives = [_life(chance, number) for number in range(units)]
    sent: list[dict[str, Any]] = []
    while len(sent) < count and lives:
        # A window of units is active at any time, as in a depot.
        life = lives[min(len(lives) - 1, int(chance.random() * 2000))]
        try:
            sent.append(next(life))
        except StopIteration:
            lives.remove(life)
    _delay(sent, chance)
    return [orjson.dumps(event) for event in sent]


def _delay(sent: list[dict[str, Any]], chance: random.Random) -> None:
    """Let one event in a hundred have happened before the ones sent ahead of it."""
    for event in sent:
        if chance.random() < 0.01:
            happened = datetime.fromisoformat(event["happened_at"]) - timedelta(days=2)
            event["happened_at"] = happened.isoformat()


def _life(chance: random.Random, number: int) -> Iterator[dict[str, Any]]:
    first_ten = f"{('ZZZ', 'QQX', 'HQX')[number % 3]}U{number:06d}"
    mark = first_ten + marks.check_digit(first_ten)
    depot, at = _DEPOTS[number % 2], _BEGIN + timedelta(minutes=number)

    def event(kind: str, **fields: Any) -> dict[str, Any]:  # noqa: ANN401 - fields of any kind
        nonlocal at
        at += timedelta(hours=5)
        return {
            "kind": kind,
            "id": str(new_id()),
            "depot": depot,
            "mark": mark,
            "happened_at": at.isoformat(),
            "reported_by": chance.choice(_PEOPLE),
        } | fields

    payload = 28250 if chance.random() > 0.2 else 28000
    masses = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": payload}
    yield event("gate-in", size_type="22G1", masses=masses, slot=f"A{number % 40}-{number % 7}")
    yield event("inspection", condition="cargo-worthy", plate=PLATE)
    yield event("restow", slot=f"B{number % 40}-{number % 5}")
    yield event("work-order", lines=[{"work": "louvre-vent", "count": 4}])
    yield event("modification", fittings=[{"work": "louvre-vent", "count": 4, "mass_kg": 3}])
    yield event("marking", action="repainted", masses={"gross_kg": 30480, "tare_kg": 2242})
    yield event("sighting", slot=f"B{number % 40}-{number % 5}")
    yield event("sale", buyer=f"Buyer {number % 300}", intended_use="storage", paid=True)
    if chance.random() < 0.1:
        yield event("sale", buyer="Too late", intended_use="storage", paid=True)
    yield event("hold", hold="do-not-release", reason="look again")
    yield event("restow", slot=f"C{number % 40}-{number % 5}")
    yield event("gate-out", purpose="outside-repair")
    yield event("gate-in", slot="D1-1")
    yield event("examination", passed=True, by="Tarn", next_examination="2030-06")
