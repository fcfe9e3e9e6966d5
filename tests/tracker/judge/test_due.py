from datetime import date, timedelta

import pytest

from schemas.records import LiveSale, OpenDamage, OpenOrder
from shared.plates import MonthReading
from tests.support.events import START, UNIT, make_record
from tracker.judge.due import owed, reminders_passed
from tracker.judge.entry import moment_text

NOW = moment_text(START)
STRICT, LENIENT = MonthReading.STRICT, MonthReading.LENIENT
EVERYTHING = {
    "next_examination": "2026-06",
    "damages": [
        OpenDamage("d/1", "door-panel", "dented", "soon", NOW, mend_by="2026-03-20"),
        OpenDamage("d/2", "floor", "cut", "soon", NOW),
    ],
    "orders": [
        OpenOrder("o/1", {"lock-box": 1}, NOW, due_on="2026-03-25"),
        OpenOrder("o/2", {"lock-box": 1}, NOW),
    ],
}


def test_everything_owed_is_given_with_its_last_good_day_and_its_cause() -> None:
    found = [
        (one.kind, one.cause, one.due_on.isoformat())
        for one in owed(make_record(**EVERYTHING), STRICT)
    ]
    assert found == [
        ("examination-due", "2026-06", "2026-05-31"),
        ("repair-overdue", "d/1", "2026-03-20"),
        ("work-overdue", "o/1", "2026-03-25"),
    ]


def test_lenient_reading_gives_the_month_itself() -> None:
    (examination,) = owed(make_record(next_examination="2026-06"), LENIENT)
    assert examination.due_on == date(2026, 6, 30)


@pytest.mark.parametrize("presence", ["away", "disposed"])
def test_unit_that_is_gone_owes_nothing(presence: str) -> None:
    assert list(owed(make_record(presence=presence, **EVERYTHING), STRICT)) == []


def test_unit_that_turned_out_to_be_another_owes_nothing() -> None:
    assert list(owed(make_record(merged_into=UNIT, **EVERYTHING), STRICT)) == []


@pytest.mark.parametrize(("use", "kinds"), [("storage", 0), ("export", 1), ("transport", 1)])
def test_box_sold_for_storage_needs_no_examination(use: str, kinds: int) -> None:
    record = make_record(next_examination="2026-06", sale=LiveSale("s", "Ada", use, NOW))
    assert len(list(owed(record, STRICT))) == kinds


def test_programme_falls_due_on_no_day() -> None:
    assert list(owed(make_record(next_examination="programme"), STRICT)) == []


@pytest.mark.parametrize(
    ("days_left", "passed"),
    [(91, 0), (90, 1), (31, 1), (30, 2), (7, 3), (0, 3), (-1, 4), (-7, 4), (-8, 5), (-15, 6)],
)
def test_reminders_come_ahead_then_the_day_after_then_weekly(days_left: int, passed: int) -> None:
    due_on = date(2026, 6, 30)
    assert reminders_passed(due_on - timedelta(days=days_left), due_on, (90, 30, 7)) == passed
