"""The scenario as a whole, and the moment it hangs on.

The scenario is made for the moment at which it is first worked through: the year lies before that
day, examinations fall due soon after it. That moment is kept in the record itself, by the first
event of all. So the same scenario is found again whenever it is asked for: on another day the demo
day is still the one that was, with its old ids, and nothing is told twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from random import Random
from typing import Final

from deploy.demo import boxes, past, steps
from deploy.demo.boxes import TWENTY_FT
from deploy.demo.cast import Cast, make_cast
from deploy.demo.house import COLOURS, SALES_DESK, TARN
from deploy.demo.life import Life, working_day
from deploy.demo.past import YEAR
from deploy.demo.plate_photos import photograph
from deploy.demo.reports import Pen, Report
from deploy.demo.stock_round import Walk, tell_walk
from deploy.errors import DeployError
from shared.months import Month
from tracker.services.context import Context
from tracker.services.unit_view import UnitUnknownError, show_unit
from tracker.store import queries
from tracker.store.queries import StockFilter

_SEED: Final = "the demo day of Hardstand"
_HERALD: Final = boxes.make_mark("ZZTU", 700_000)
_HERALD_BATCH: Final = "DEMO-DAY-2"


class HouseInUseError(DeployError):
    """The database holds units that are not the demo's."""

    def __init__(self) -> None:
        super().__init__(
            "This database holds units of its own; the demo day would mix invented ones with them",
            expected="an empty database, or one with the demo day in it",
            remedy="Set HARDSTAND_HOME to a folder of its own, such as .hardstand-demo",
        )


@dataclass(frozen=True, slots=True)
class Scenario:
    """What is told, for one moment: the past by moments of handing in, and the boxes of today."""

    moment: datetime
    cast: Cast
    walk: Walk
    lots: list[list[Report]]
    is_known: bool
    """The database has it already, or has begun to."""


def make_scenario(context: Context) -> Scenario:
    """Return the scenario that the database has, else one for this moment.

    Raises:
        HouseInUseError: The database is somebody's, and has no demo day in it.
    """
    found = _find_moment(context)
    if found is None:
        _refuse_house_in_use(context)
    moment = found or context.clock.now().replace(second=0, microsecond=0)
    chance, today = Random(_SEED), moment.date()  # noqa: S311 - invents, guards nothing
    pen = Pen(f"{_SEED}, {moment.isoformat()}")
    camera = partial(photograph, context)
    first = _announce_herald(pen, moment)
    cast = make_cast(pen, today, chance, context.month_reading, camera)
    told = cast.reports + past.tell_past(pen, today, chance, camera)
    told += _sell_herald(pen, today, chance)
    walk = tell_walk(pen, told, today, cast.trade)
    told += walk.reports
    return Scenario(moment, cast, walk, [[first], *past.in_order(told)], found is not None)


def _announce_herald(pen: Pen, moment: datetime) -> Report:
    """Return the first event of all: a box announced exactly a year before the moment."""
    at = moment - YEAR
    said = {"depot": TARN.code, "mark": _HERALD, "batch": _HERALD_BATCH, "source": "file"}
    told = {"happened_at": at.isoformat(), "reported_by": SALES_DESK}
    return pen.write("pre-advice", at + timedelta(seconds=1), said | told)


def _sell_herald(pen: Pen, today: date, chance: Random) -> list[Report]:
    """Let the first box go the way of most."""
    begins = working_day(today - YEAR + timedelta(days=2))
    box = boxes.make_new(_HERALD, TWENTY_FT, Month.of(begins), chance, COLOURS[0])
    life = Life(pen, box, TARN, begins)
    steps.arrive(life, chance, _HERALD_BATCH)
    steps.inspect(life)
    steps.acquire(life, _HERALD_BATCH)
    life.wait(9)
    steps.collect(life, chance, steps.sell(life, chance, "storage"))
    return life.reports


def _find_moment(context: Context) -> datetime | None:
    """Return the moment of the demo day that the record holds."""
    try:
        rows = show_unit(context, _HERALD).history
    except UnitUnknownError:
        return None
    announced = (row for row in rows if row["event"].get("batch") == _HERALD_BATCH)
    first = next(announced, None)
    return None if first is None else datetime.fromisoformat(first["happened_at"]) + YEAR


def _refuse_house_in_use(context: Context) -> None:
    with context.engine.begin() as connection:
        if queries.list_stock(connection, StockFilter(), size=1):
            raise HouseInUseError
