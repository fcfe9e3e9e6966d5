"""Where the boxes of today begin their lives: announced, come in, looked at and bought."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Final

from deploy.demo import boxes, steps
from deploy.demo.boxes import TWENTY_FT, Box
from deploy.demo.house import Depot
from deploy.demo.life import Life, working_day_before
from deploy.demo.past import Camera
from deploy.demo.reports import Pen, Report
from shared.months import Month

BATCH: Final = "B-100"
_SUPPLIER: Final = "Farshore Box Works"
_FIRST_SERIAL: Final = 700_011


@dataclass(slots=True)
class Stage:
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

    def expected(self, depot: Depot, days_ago: int, batch: str = BATCH) -> Box:
        """Return a box that is announced and has not come."""
        life = self.life(depot, days_ago)
        steps.announce(life, batch, _SUPPLIER)
        return self.done(life)

    def unheard_of(self, depot: Depot) -> Box:
        """Return a box that nobody has announced."""
        return self.life(depot, 30).box

    def arrived(self, depot: Depot, days_ago: int, *, examined_by: Month | None = None) -> Life:
        """Return the life of a box that came in."""
        life = self.life(depot, days_ago, examined_by=examined_by)
        steps.announce(life, BATCH, _SUPPLIER)
        life.wait(2)
        steps.arrive(life, self.chance, BATCH)
        return life

    def in_stock(self, depot: Depot, days_ago: int, *, examined_by: Month | None = None) -> Life:
        """Return the life of a box that came in, was looked at and bought."""
        life = self.arrived(depot, days_ago, examined_by=examined_by)
        life.plate_photo = self.camera(life.box)
        steps.inspect(life)
        steps.acquire(life, BATCH)
        return life

    def done(self, life: Life) -> Box:
        """Keep what was reported; return the box."""
        self.reports += life.reports
        return life.box
