"""The stock check of the last working day: a walk through all of one depot, and what it found."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Final

import orjson

from deploy.demo.house import TARN
from deploy.demo.life import working_day_before
from deploy.demo.reports import Pen, Report
from deploy.demo.trade_cast import SEEN_SLOT, TradeCast
from shared.clock import StandingClock
from tracker.services import stock_check
from tracker.services.context import Context
from tracker.services.stock_check import Comparison

_BEGINS: Final = time(7)
_SEEN: Final = time(17)
_ENDS: Final = time(17, 30)
_MOVES: Final = ("gate-in", "gate-out", "disposal")


@dataclass(frozen=True, slots=True)
class Walk:
    """A stock check: which, from when to when, and what was seen in it."""

    id: str
    begun_at: datetime
    ended_at: datetime
    reports: tuple[Report, ...]


def tell_walk(pen: Pen, told: Iterable[Report], today: date, cast: TradeCast) -> Walk:
    """Return the check that saw all that `told` leaves in the depot, but for one box."""
    day = working_day_before(today, 1)
    begun_at, seen_at, ended_at = (
        datetime.combine(day, hour, TARN.clock_zone) for hour in (_BEGINS, _SEEN, _ENDS)
    )
    check = f"{TARN.code}-{day.isoformat()}"
    common = {"depot": TARN.code, "reported_by": TARN.gate, "source": "phone", "check": check}
    reports = []
    for number, mark in enumerate(_in_depot(told)):
        if mark == cast.not_found.mark:
            continue
        at = seen_at + timedelta(seconds=number)
        slot = SEEN_SLOT if mark == cast.misplaced.mark else None
        said = {"mark": mark, "slot": slot, "happened_at": at.isoformat()}
        reports.append(pen.write("sighting", ended_at, common | said))
    return Walk(check, begun_at, ended_at, tuple(reports))


def keep_walk(context: Context, walk: Walk) -> Comparison:
    """Note the check as begun and finished when it was; may be called again."""
    begun, ended = (
        replace(context, clock=StandingClock(at)) for at in (walk.begun_at, walk.ended_at)
    )
    with contextlib.suppress(stock_check.StockCheckTakenError):
        stock_check.begin(begun, TARN.code, TARN.gate, check_id=walk.id)
    return stock_check.finish(ended, walk.id)


def _in_depot(told: Iterable[Report]) -> list[str]:
    """Return the marks of the boxes that the reports leave on the depot's ground."""
    last: dict[str, tuple[datetime, str, str]] = {}
    for report in told:
        if report.kind in _MOVES:
            said = orjson.loads(report.body)
            moved = datetime.fromisoformat(said["happened_at"]), report.kind, said["depot"]
            last[said["mark"]] = max(last.get(said["mark"], moved), moved)
    return [mark for mark, (_, kind, at) in last.items() if (kind, at) == ("gate-in", TARN.code)]
