"""Judge what a safety plate says of time: manufacture, next examination, programme."""

from __future__ import annotations

import re
from datetime import date

from schemas.readings import PlateReading
from shared import plates
from shared.months import Month
from shared.plates import ExaminationState, MonthReading
from tracker.judge import plate_rules as rules
from tracker.judge.concerns import Concern

_PROGRAMME = re.compile(r"ACEP[ /:.-]*[A-Z0-9][A-Z0-9 /:.-]*")


def judge_months(
    reading: PlateReading,
    happened_on: date,
    reading_of_month: MonthReading,
) -> list[Concern]:
    """Return what is wrong with the month of manufacture, the next examination, the programme.

    Args:
        reading: The plate as read.
        happened_on: The day on which it was read, in the depot's zone.
        reading_of_month: Whether the marked month itself still counts.
    """
    concerns: list[Concern] = []
    made, due = reading.manufactured_in, reading.next_examination
    read_in = Month.of(happened_on)
    if made is not None and read_in.months_until(made) > 0:
        finding = rules.MADE_IN_FUTURE.finding(
            "plate.manufactured_in", seen=str(made), expected=str(read_in)
        )
        concerns.append(Concern(finding, ("manufactured_in",)))
        made = None
    if reading.programme is not None:
        concerns += _judge_programme(reading.programme)
    if due is None:
        if reading.programme is None:
            field = "plate.next_examination"
            concerns.append(Concern(rules.NO_DATE_OR_PROGRAMME.finding(field)))
        return concerns
    if made is not None and made.months_until(due) <= 0:
        finding = rules.EXAMINATION_BEFORE_MANUFACTURE.finding(
            "plate.next_examination", seen=str(due), expected=str(made)
        )
        concerns.append(Concern(finding, ("next_examination", "manufactured_in")))
    elif reading.programme is None:
        concerns += _judge_due(due, made, read_in)
        concerns += _judge_lapse(due, happened_on, read_in, reading_of_month)
    return concerns


def _judge_programme(programme: str) -> tuple[Concern, ...]:
    if _PROGRAMME.fullmatch(programme.upper()):
        return ()
    finding = rules.PROGRAMME_SHAPE.finding(
        "plate.programme", seen=programme, expected="it begins ACEP, then numerals or letters"
    )
    return (Concern(finding),)


def _judge_due(due: Month, made: Month | None, read_in: Month) -> tuple[Concern, ...]:
    """Return a concern when the marked month lies further ahead than the intervals allow.

    The plate does not say whether an examination has been done. Without one, 60 months from
    manufacture is the latest; with one, done at the latest when the plate was read, 30 months from
    then. Beyond both is wrong whichever it was, and while the first of them is the later one, it
    was surely the first examination.
    """
    after_one = plates.next_examination_due(read_in)
    # An unknown month of manufacture may be as late as the reading.
    first = plates.first_examination_due(read_in if made is None else made)
    latest = max(first, after_one)
    if due <= latest:
        return ()
    if made is not None and latest == first:
        rule = rules.FIRST_EXAMINATION_TOO_LATE
    else:
        rule = rules.NEXT_EXAMINATION_TOO_LATE
    finding = rule.finding(
        "plate.next_examination",
        seen=str(due),
        expected=str(latest),
        made=made,
        read_in=read_in,
    )
    return (Concern(finding),)


def _judge_lapse(
    due: Month,
    happened_on: date,
    read_in: Month,
    reading_of_month: MonthReading,
) -> tuple[Concern, ...]:
    state = plates.month_state(read_in.months_until(due), reading_of_month)
    if state is ExaminationState.VALID:
        return ()
    if state is ExaminationState.PASSED:
        rule = rules.EXAMINATION_PASSED
    else:
        rule = rules.EXAMINATION_THIS_MONTH
    finding = rule.finding(
        "plate.next_examination", seen=str(due), expected=happened_on.isoformat()
    )
    return (Concern(finding),)
