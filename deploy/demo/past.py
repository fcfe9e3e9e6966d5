"""A year of past: batches come in, and each box goes its way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from random import Random
from typing import Final

from deploy.demo import boxes, steps
from deploy.demo.boxes import Box
from deploy.demo.house import COLOURS, DEPOTS, NEW_OWNERS, SUPPLIERS, USED_OWNERS
from deploy.demo.life import Life, working_day
from deploy.demo.reports import Pen, Report
from shared.months import Month

Camera = Callable[[Box], str]
"""Photographs a box's plate, and gives the digest of the photo."""

YEAR: Final = timedelta(days=366)
_BATCHES: Final = 34
_LEAST_IN_BATCH, _MOST_IN_BATCH = 7, 12
_FIRST_SERIAL: Final = 410_000


def tell_past(pen: Pen, today: date, chance: Random, camera: Camera) -> list[Report]:
    """Return the reports of all boxes, up to yesterday, in no order."""
    reports: list[Report] = []
    for number in range(_BATCHES):
        begins = today - YEAR + timedelta(days=3 + number * (YEAR.days - 12) // _BATCHES)
        batch = f"B-{number + 1:03d}"
        make_box = _new_boxes(number, begins, chance) if number % 2 else _used_boxes(today, chance)
        for life in _arriving(pen, batch, make_box, working_day(begins), chance):
            _live(life, batch, chance, camera)
            reports += life.reports
    return up_to(reports, today)


def up_to(reports: list[Report], today: date) -> list[Report]:
    """Return those handed in before the day; each box's line is only cut short by it."""
    return [one for one in reports if one.received_at.date() < today]


def in_order(reports: list[Report]) -> Iterator[list[Report]]:
    """Give what is handed in together, one moment after the other."""
    lot: list[Report] = []
    for report in sorted(reports, key=lambda one: (one.received_at, one.id)):
        if lot and report.received_at != lot[0].received_at:
            yield lot
            lot = []
        lot.append(report)
    if lot:
        yield lot


def _arriving(
    pen: Pen, batch: str, make_box: Callable[[], Box], begins: date, chance: Random
) -> Iterator[Life]:
    """Give the lives of a batch's boxes, each announced and on its day of arrival."""
    depot, supplier, on_the_way = (
        chance.choice(DEPOTS),
        chance.choice(SUPPLIERS),
        chance.randint(3, 10),
    )
    for _ in range(chance.randint(_LEAST_IN_BATCH, _MOST_IN_BATCH)):
        life = Life(pen, make_box(), depot, begins)
        steps.announce(life, batch, supplier)
        life.wait(on_the_way + chance.randint(0, 2))
        yield life


def _new_boxes(number: int, begins: date, chance: Random) -> Callable[[], Box]:
    """Return what makes the next box of a run of serials, all of one size and colour."""
    owner, size, colour = chance.choice(NEW_OWNERS), boxes.pick_size(chance), chance.choice(COLOURS)
    serials = iter(range(_FIRST_SERIAL + 100 * number, 10**6))

    def make() -> Box:
        mark = boxes.make_mark(owner, next(serials))
        return boxes.make_new(mark, size, Month.of(begins), chance, colour)

    return make


def _used_boxes(today: date, chance: Random) -> Callable[[], Box]:
    """Return what makes a used box of any size; no examination comes due for half a year."""

    def make() -> Box:
        mark = boxes.make_mark(chance.choice(USED_OWNERS), chance.randrange(10**6))
        made = Month.of(today).plus(-chance.randint(90, 180))
        due = Month.of(today).plus(chance.randint(6, 16))
        size, colour = boxes.pick_size(chance), chance.choice(COLOURS)
        next_examination = None if chance.random() < 0.15 else due
        return boxes.make_used(mark, size, made, next_examination, chance, colour)

    return make


def _live(life: Life, batch: str, chance: Random, camera: Camera) -> None:
    """A box arrives, is looked at and bought, and then goes one of the ways there are.

    One that goes abroad has its plate photographed: it leaves with its plate pack or not at all.
    """
    ways, shares = zip(*_WAYS, strict=True)
    way = chance.choices(ways, shares)[0]
    if way is _sell_for_export:
        life.plate_photo = camera(life.box)
    steps.arrive(life, chance, batch)
    life.wait(chance.randint(1, 3))
    steps.inspect(life)
    steps.acquire(life, batch)
    if life.box.next_examination is None:
        life.wait(chance.randint(5, 20))
        steps.examine(life)
    _on_the_way(life, chance)
    way(life, chance)


def _on_the_way(life: Life, chance: Random) -> None:
    """What befalls a box whatever becomes of it."""
    used = life.box.provenance == "used"
    for odds, step in (
        (0.35, steps.restow),
        (0.2 if used else 0.04, steps.find_and_mend),
        (0.05, steps.hold_for_a_while),
        (0.18, steps.move_depot),
    ):
        if chance.random() < odds:
            life.wait(chance.randint(2, 25))
            step(life, chance)


def _stay(life: Life, chance: Random) -> None:
    for _ in range(chance.randint(1, 3)):
        life.wait(chance.randint(20, 60))
        steps.count(life)
    if chance.random() < 0.15:
        steps.reserve(life, chance)


def _sell_for_storage(life: Life, chance: Random) -> None:
    life.wait(chance.randint(5, 70))
    buyer = steps.reserve(life, chance) if chance.random() < 0.4 else None
    life.wait(chance.randint(2, 12))
    reference = steps.sell(life, chance, "storage", buyer)
    life.wait(chance.randint(1, 8))
    steps.collect(life, chance, reference)


def _sell_for_export(life: Life, chance: Random) -> None:
    life.wait(chance.randint(5, 50))
    reference = steps.sell(life, chance, "export")
    life.wait(chance.randint(1, 5))
    steps.collect(life, chance, reference, proof=f"EXIT {reference}")


def _fit_lock_box(life: Life, chance: Random) -> None:
    life.wait(chance.randint(4, 30))
    steps.fit_lock_box(life)
    if chance.random() < 0.7:
        _sell_for_storage(life, chance)


def _fit_louvre_vents(life: Life, chance: Random) -> None:
    life.wait(chance.randint(4, 30))
    steps.fit_louvre_vents(life)
    if chance.random() < 0.6:
        _sell_for_storage(life, chance)


def _scrap(life: Life, chance: Random) -> None:
    life.wait(chance.randint(10, 60))
    steps.scrap(life)


_WAYS: Final = (
    (_stay, 34),
    (_sell_for_storage, 30),
    (_sell_for_export, 14),
    (_fit_lock_box, 11),
    (_fit_louvre_vents, 8),
    (_scrap, 3),
)
"""Each way with its share of a hundred."""
