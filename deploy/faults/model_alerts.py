"""The alerts that must stand, by what the model holds: told from records, nothing remembered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from deploy.faults.model import Model
from shared.due_schedule import schedules
from shared.plates import MonthReading
from tracker.judge import due


@dataclass(frozen=True, slots=True)
class AlertDay:
    """When a round is made, and by which settings. Days are those of UTC."""

    at: datetime
    reading: MonthReading
    alert_days: tuple[int, ...]


def standing_alerts(model: Model, day: AlertDay) -> Iterator[tuple[str, str, str]]:
    """Give unit or order, kind and cause of every alert that stands after the round of a day."""
    for unit in model.histories:
        record = model.record(unit)
        for breach in record.breaches:
            yield unit, due.BREACH, f"{breach.event}/{breach.finding}"
        if record.depot is None:
            continue
        for one in due.owed(record, day.reading):
            ahead = day.alert_days if one.kind == due.EXAMINATION_DUE else ()
            if due.tell(schedules()[one.kind], ahead, one.due_on, 0, day.at.date()) is not None:
                yield unit, one.kind, one.cause
    for depot in {model.order(order).depot for order in model.orders}:
        for order in model.promises(depot, day.at).short_by_order():
            yield order, due.ORDER_SHORT, order
