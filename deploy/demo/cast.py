"""The boxes that today is about, and how each came to stand where it does this morning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

from deploy.demo import past, steps
from deploy.demo.boxes import Box
from deploy.demo.house import BUYERS, QUAY, SALES_DESK, TARN, Depot
from deploy.demo.life import working_day_before
from deploy.demo.past import Camera
from deploy.demo.reports import Pen, Report
from deploy.demo.stage import BATCH, Stage
from deploy.demo.trade_cast import TradeCast, make_trade_cast
from shared.months import Month
from shared.plates import MonthReading, last_valid_day


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
    trade: TradeCast
    reports: list[Report] = field(default_factory=list)


def make_cast(pen: Pen, today: date, chance: Random, reading: MonthReading, camera: Camera) -> Cast:
    """Return the boxes of the day; `reading` says when a month on a plate falls due."""
    stage = Stage(pen, today, chance, camera)
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
            _kept_for_export(stage, TARN if number % 2 else QUAY, month)
            for number, month in enumerate(soon_due(today, reading))
        ),
        wrong_inspection=inspection,
        first_buyer=first_buyer,
        mend_by=mend_by,
        trade=make_trade_cast(stage),
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


def _kept_for_export(stage: Stage, depot: Depot, month: Month) -> Box:
    """A box that is reserved for export, and must be examined before it goes."""
    life = stage.in_stock(depot, 90, examined_by=month)
    life.day = working_day_before(stage.today, 12)
    until = f"{stage.today + timedelta(days=30)}T16:00:00+00:00"
    said = {"buyer": BUYERS[5], "until": until, "intended_use": "export"}
    life.decision("reservation", SALES_DESK, **said)
    return stage.done(life)


def _damaged(stage: Stage) -> tuple[Box, date]:
    """A box whose damage was to be mended by last week, and was not."""
    life = stage.arrived(TARN, 30)
    mend_by = stage.today - timedelta(days=6)
    damage = {"place": "RB3N", "component": "side-panel", "kind": "holed", "measured_mm": 30}
    steps.inspect(
        life,
        condition="as-is",
        damages=[damage | {"urgency": "before-release", "mend_by": mend_by.isoformat()}],
    )
    steps.acquire(life, BATCH)
    return stage.done(life), mend_by


def _sold(stage: Stage) -> tuple[str, Box]:
    """A box that was sold a few days ago, and is not yet released."""
    life = stage.in_stock(QUAY, 33)
    life.day = working_day_before(stage.today, 2)
    buyer = BUYERS[2]
    steps.sell(life, stage.chance, "storage", buyer)
    return buyer, stage.done(life)


def _under_way(stage: Stage) -> Box:
    """A box that left for the other depot on the last working day."""
    life = stage.in_stock(TARN, 50)
    life.day = working_day_before(stage.today, 1)
    steps.send_over(life)
    return stage.done(life)
