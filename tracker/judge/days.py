"""Days and moments that a decision names: they cannot lie in the future, or have passed, as typed.

What was paid, or passed to us, did so by today; what is to last ends after now. The pages' fields
hold the same, but a browser's field is no rule: without script, by the API and from a file a slip
of the year would stand in the record.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from functools import partial
from typing import Final

from schemas.events.base import Event
from schemas.events.deal import Acquisition, Payment, Release, Reservation
from schemas.events.workshop import WorkOrder
from schemas.findings import Finding, Severity
from shared.moments import moment_said
from shared.table_files import Certainty
from tracker.judge.judgement import Rulebook
from tracker.judge.rules import Rule, designed_refusal

_SOURCE: Final = "Hardstand design, two times"
_refusal: Final = partial(designed_refusal, _SOURCE)

NOT_COME: Final = _refusal(
    "day.not-come-yet",
    "{what} on {seen}, but today is {expected}. Give the day on which it was.",
    "A payment or a title that is said to have passed on a day after today, by the depot's own "
    "calendar.",
)
OVER: Final = _refusal(
    "day.over-already",
    "{what} until {seen}, which has passed. Give a later day.",
    "A reservation or a release would have ended before it was asked for.",
)
DUE_ALREADY: Final = Rule(
    id="day.due-already",
    severity=Severity.WARN,
    sentence="The work is to be done by {seen}, and today is {expected}: it begins late.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A work order with a day that lies before today, by the depot's own calendar; it is "
    "granted, and its alert is raised by the next round.",
)
RULES: Final = (NOT_COME, OVER, DUE_ALREADY)


def amiss(event: Event, now: datetime, rules: Rulebook) -> list[Finding]:
    """Return what is wrong with the days that a decision names, asked for at `now`."""
    return list(_amiss(event, now, rules.day_of(now, event.depot)))


def _amiss(event: Event, now: datetime, today: date) -> Iterator[Finding]:
    match event:
        case Payment(paid_on=date() as day) if day > today:
            yield _not_come("paid_on", "It is said to have been paid", day, today)
        case Acquisition(title_passed_on=day) if day > today:
            yield _not_come("title_passed_on", "Title is said to have passed", day, today)
        case Reservation(until=moment) if moment < now:
            yield _over("until", "It would be reserved", moment)
        case Release(expires_at=datetime() as moment) if moment < now:
            yield _over("expires_at", "It would be released", moment)
        case WorkOrder(due_on=date() as day) if day < today:
            yield DUE_ALREADY.finding("due_on", seen=str(day), expected=str(today))
        case _:
            return


def _not_come(field: str, what: str, day: date, today: date) -> Finding:
    return NOT_COME.finding(field, seen=str(day), expected=str(today), what=what)


def _over(field: str, what: str, moment: datetime) -> Finding:
    return OVER.finding(field, seen=moment_said(moment.isoformat()), what=what)
