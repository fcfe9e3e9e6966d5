"""The boxes that today is about, and how each came to stand where it does this morning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random
from typing import Final

from deploy.demo import boxes, past, steps
from deploy.demo.boxes import TWENTY_FT, Box
from deploy.demo.house import BUYERS, QUAY, TARN, Depot
from deploy.demo.life import Life, working_day_before
from deploy.demo.past import Camera
from deploy.demo.reports import Pen, Report
from shared.months import Month
from shared.plates import MonthReading, last_valid_day

_BATCH: Final = "B-100"
_SUPPLIER: Final = "Farshore Box Works"
_FIRST_SERIAL: Final = 700_011


@dataclass(slots=True)
class Cast:
    """The boxes by their part, all reports about them, and what today's reports refer to."""

    misread: Box
    still_misread: Box
    twice_in: Box
    weighed_wrong: Box
    late: Box
    corrected: Box
    sold_twice: Box
    unreleased: Box
    to_mend: Box
    to_examine: tuple[Box, ...]
    wrong_inspection: str
    first_buyer: str
    mend_by: date
    reports: list[Report] = field(default_factory=list)


@dataclass(slots=True)
class _Stage:
    """Hands out boxes of one batch, and remembers what was reported about each."""

    pen: Pen
    today: date
    chance: Random
    camera: Camera
    reports: list[Report] = field(default_factory=list)
    _made: int = 0

    def life(self, depot: Depot, days_ago: int, *, examined_by: Month | None = None) -> Life:
        """Begin a box's life, so many days ago; a used one where it must soon be examined."""
        day = working_day_before(self.today, days_ago)
        mark = boxes.make_mark("ZZTU", _FIRST_SERIAL + 11 * self._made)
        self._made += 1
        if examined_by is None:
            box = boxes.make_new(mark, TWENTY_FT, Month.of(day), self.chance, "RAL 5010")
        else:
            made = examined_by.plus(-120)
            box = boxes.make_used(mark, TWENTY_FT, made, examined_by, self.chance, "RAL 8004")
        return Life(self.pen, box, depot, day)

    def expected(self, depot: Depot, days_ago: int) -> Box:
        """Return a box that is announced and has not come."""
        life = self.life(depot, days_ago)
        steps.announce(life, _BATCH, _SUPPLIER)
        return self.done(life)

    def arrived(self, depot: Depot, days_ago: int, *, examined_by: Month | None = None) -> Life:
        """Return the life of a box that came in."""
        life = self.life(depot, days_ago, examined_by=examined_by)
        steps.announce(life, _BATCH, _SUPPLIER)
        life.wait(2)
        steps.arrive(life, self.chance, _BATCH)
        return life

    def in_stock(self, depot: Depot, days_ago: int, *, examined_by: Month | None = None) -> Life:
        """Return the life of a box that came in, was looked at and bought."""
        life = self.arrived(depot, days_ago, examined_by=examined_by)
        life.plate_photo = self.camera(life.box)
        steps.inspect(life)
        steps.acquire(life, _BATCH)
        return life

    def done(self, life: Life) -> Box:
        """Keep what was reported; return the box."""
        self.reports += life.reports
        return life.box


def make_cast(pen: Pen, today: date, chance: Random, reading: MonthReading, camera: Camera) -> Cast:
    """Return the boxes of the day; `reading` says when a month on a plate falls due."""
    stage = _Stage(pen, today, chance, camera)
    doubtful = stage.arrived(TARN, 12)
    inspection = steps.inspect(doubtful, condition="as-is")
    to_mend, mend_by = _damaged(stage)
    first_buyer, unreleased = _sold(stage)
    cast = Cast(
        misread=stage.expected(TARN, 9),
        still_misread=stage.expected(QUAY, 8),
        twice_in=stage.done(stage.in_stock(TARN, 75)),
        weighed_wrong=stage.expected(TARN, 7),
        late=_under_way(stage),
        corrected=stage.done(doubtful),
        sold_twice=stage.done(stage.in_stock(QUAY, 40)),
        unreleased=unreleased,
        to_mend=to_mend,
        to_examine=tuple(
            stage.done(stage.in_stock(TARN if number % 2 else QUAY, 90, examined_by=month))
            for number, month in enumerate(soon_due(today, reading))
        ),
        wrong_inspection=inspection,
        first_buyer=first_buyer,
        mend_by=mend_by,
    )
    cast.reports = past.up_to(stage.reports, today)
    return cast


def soon_due(today: date, reading: MonthReading) -> Sequence[Month]:
    """Return three months that fall due within the ninety days before which it is first told.

    A plate shows months, so how many days are left depends on the day: the nearest is due within
    a month, the others within two and three, or again within two where three are too far.
    """
    coming = (Month.of(today).plus(ahead) for ahead in range(5))
    days_left = {month: (last_valid_day(month, reading) - today).days for month in coming}
    due = [month for month, days in days_left.items() if 0 <= days <= 90]
    return (due + due[-1:] * 3)[:3]


def _damaged(stage: _Stage) -> tuple[Box, date]:
    """A box whose damage was to be mended by last week, and was not."""
    life = stage.arrived(TARN, 30)
    mend_by = stage.today - timedelta(days=6)
    damage = {"place": "RB3N", "component": "side-panel", "kind": "holed", "measured_mm": 30}
    steps.inspect(
        life,
        condition="as-is",
        damages=[damage | {"urgency": "before-release", "mend_by": mend_by.isoformat()}],
    )
    steps.acquire(life, _BATCH)
    return stage.done(life), mend_by


def _sold(stage: _Stage) -> tuple[str, Box]:
    """A box that was sold a few days ago, and is not yet released."""
    life = stage.in_stock(QUAY, 33)
    life.day = working_day_before(stage.today, 2)
    buyer = BUYERS[2]
    steps.sell(life, stage.chance, "storage", buyer)
    return buyer, stage.done(life)


def _under_way(stage: _Stage) -> Box:
    """A box that left for the other depot on the last working day."""
    life = stage.in_stock(TARN, 50)
    life.day = working_day_before(stage.today, 1)
    steps.send_over(life)
    return stage.done(life)
