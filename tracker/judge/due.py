"""What a record makes fall due, when, and which reminder a day asks for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from schemas.records import Record
from shared.months import Month
from shared.plates import MonthReading, last_valid_day

EXAMINATION_DUE: Final = "examination-due"
REPAIR_OVERDUE: Final = "repair-overdue"
WORK_OVERDUE: Final = "work-overdue"
BREACH: Final = "breach"

_WEEK: Final = 7


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that falls due: its kind and cause name it, `due_on` is the last good day."""

    kind: str
    cause: str
    due_on: date
    role: str
    says: str


def owed(record: Record, reading: MonthReading) -> Iterator[Due]:
    """Give everything about the unit that falls due, however far ahead.

    Nothing is owed by a unit that left, was disposed of, or turned out to be another.
    """
    if record.merged_into is None and record.presence in ("expected", "in-depot"):
        yield from _examination(record, reading)
        yield from _repairs(record)
        yield from _work(record)


def reminders_passed(today: date, due_on: date, ahead_days: Sequence[int]) -> int:
    """Return how many reminders were due by `today`.

    One at each number of days ahead, one on the first day after `due_on`, then one a week. The
    number grows by one with each, so that a reminder missed on one day is made up on the next.
    """
    days_left = (due_on - today).days
    passed = sum(days_left <= days for days in ahead_days)
    if days_left < 0:
        passed += 1 + (-days_left - 1) // _WEEK
    return passed


def _examination(record: Record, reading: MonthReading) -> Iterator[Due]:
    month = record.next_examination
    # A box sold as it is for standing still needs none; its buyer was told on paper.
    for_storage = record.sale is not None and record.sale.intended_use == "storage"
    if month is None or month == "programme" or for_storage:
        return
    due_on = last_valid_day(Month.parse(month), reading)
    says = f"Safety examination is due: the plate says {month}, so it is valid to {due_on}."
    yield Due(EXAMINATION_DUE, month, due_on, "manager", says)


def _repairs(record: Record) -> Iterator[Due]:
    for damage in record.damages:
        if damage.mend_by is not None:
            says = f"{damage.kind} on {damage.component} was to be mended by {damage.mend_by}."
            yield Due(
                REPAIR_OVERDUE, damage.id, date.fromisoformat(damage.mend_by), "workshop", says
            )


def _work(record: Record) -> Iterator[Due]:
    for order in record.orders:
        if order.due_on is not None:
            work = ", ".join(f"{count} x {work}" for work, count in order.lines.items())
            says = f"Work ordered was due on {order.due_on}: {work}."
            yield Due(WORK_OVERDUE, order.id, date.fromisoformat(order.due_on), "workshop", says)
