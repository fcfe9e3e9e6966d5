"""What each record owes, from which day, and what a day asks to be told."""

from datetime import UTC, date, timedelta
from zoneinfo import ZoneInfo

import pytest

from schemas.records import (
    Claim,
    LiveRelease,
    LiveReservation,
    LiveSale,
    OpenDamage,
    OpenOrder,
    Record,
)
from shared.due_schedule import Schedule, schedules
from shared.plates import MonthReading
from shared.table_files import Certainty
from tests.support.events import START, UNIT, make_record
from tracker.judge import due
from tracker.judge.due import is_still_unseen, needs_examination, owed, owes_on, tell, unseen_cause
from tracker.judge.entry import moment_text

NOW = moment_text(START)
STRICT, LENIENT = MonthReading.STRICT, MonthReading.LENIENT
EXPORT = LiveSale("s/1", "Ada", "export", NOW)
STORAGE = LiveSale("s/1", "Ada", "storage", NOW)
PACKED = {
    "plate": {
        "photo": "0" * 64,
        "approval_reference": "ZZ/1",
        "manufacturer_number": "7",
        "gross_kg": 30480,
        "stacking_kg": 192000,
        "racking_n": 150000,
    },
    "manufactured_in": "2025-01",
    "next_examination": "programme",
    "size_type": "22G1",
    "tare_kg": 2230,
    "payload_kg": 28250,
}
OTHERS = "storage-for-others"


def found(record: Record, reading: MonthReading = STRICT, **others: object) -> list[tuple]:
    return [(one.kind, one.cause, one.due_on) for one in owed(record, reading, **others)]


def kinds(record: Record) -> list[str]:
    return [one.kind for one in owed(record, STRICT)]


# Each kind: a record that owes it alone, its cause, its day, and a change that ends it.
OWING = {
    due.EXAMINATION_DUE: (
        {"next_examination": "2026-06", "purpose": OTHERS},
        "2026-06",
        date(2026, 5, 31),
        {"next_examination": "programme"},
    ),
    due.REPAIR_OVERDUE: (
        {
            "damages": [
                OpenDamage("d/1", "door-panel", "dented", "soon", NOW, mend_by="2026-03-20"),
                OpenDamage("d/2", "floor", "cut", "soon", NOW),
            ]
        },
        "d/1",
        date(2026, 3, 20),
        {"damages": [OpenDamage("d/1", "floor", "cut", "soon", NOW)]},
    ),
    due.WORK_OVERDUE: (
        {
            "orders": [
                OpenOrder("o/1", {"lock-box": 1}, NOW, due_on="2026-03-25"),
                OpenOrder("o/2", {"lock-box": 1}, NOW),
            ]
        },
        "o/1",
        date(2026, 3, 25),
        {"orders": [OpenOrder("o/1", {"lock-box": 1}, NOW)]},
    ),
    due.RESERVATION_EXPIRING: (
        {"reservation": LiveReservation("r/1", "Ada", "2026-03-09T12:00:00+00:00", "storage")},
        "r/1",
        date(2026, 3, 9),
        {"reservation": None},
    ),
    due.NOT_COLLECTED: (
        {"sale": STORAGE, "release": LiveRelease("l/1", "K1", NOW)},
        "l/1",
        date(2026, 3, 9),
        {"release": None},
    ),
    due.NOT_ARRIVED: (
        {"presence": "expected", "expected_on": "2026-03-05"},
        "2026-03-05",
        date(2026, 3, 7),
        {"expected_on": None},
    ),
    due.LONG_STAY: ({"arrived_at": NOW}, NOW, date(2026, 8, 29), {"sale": STORAGE}),
    due.MARKING_TO_REPAINT: (
        {"repaint": ["masses"], "repaint_since": NOW},
        f"masses/{NOW}",
        date(2026, 3, 5),
        {"repaint": []},
    ),
    due.WEIGHING_DUE: (
        {"to_weigh": True, "to_weigh_since": NOW},
        NOW,
        date(2026, 3, 5),
        {"to_weigh": False, "to_weigh_since": None},
    ),
    due.PLATE_PACK_MISSING: (
        {**PACKED, "tare_kg": None, "sale": EXPORT},
        "s/1",
        date(2026, 3, 4),
        {"tare_kg": 2230},
    ),
    due.CLAIM_NOTICE: (
        {"claims": [Claim("c/1", "a hole", NOW, notice_by="2026-03-06"), Claim("c/2", "x", NOW)]},
        "c/1",
        date(2026, 3, 6),
        {"claims": [Claim("c/1", "a hole", NOW, None, "2026-03-06", "2026-03-03")]},
    ),
    due.PROOF_OF_EXPORT: (
        {"presence": "away", "left_at": NOW, "sale": EXPORT},
        "s/1",
        date(2026, 4, 1),
        {"sale": LiveSale("s/1", "Ada", "export", NOW, proof_of_export="MRN 1")},
    ),
}


def test_every_kind_of_the_table_is_owed_or_told_by_a_stock_check_or_the_free_stock() -> None:
    assert {*OWING, due.NOT_SEEN, due.ORDER_SHORT} == {*schedules()}


@pytest.mark.parametrize("kind", OWING)
def test_each_kind_is_owed_with_its_cause_on_its_day_until_its_cause_goes(kind: str) -> None:
    changes, cause, due_on, ends = OWING[kind]
    assert found(make_record(**changes)) == [(kind, cause, due_on)]
    assert found(make_record(**(changes | ends))) == []


@pytest.mark.parametrize("kind", OWING)
def test_sentence_names_the_day_or_the_thing_and_nobody(kind: str) -> None:
    (one,) = owed(make_record(**OWING[kind][0]), STRICT)
    assert one.says.endswith(".")
    assert "Ada" not in one.says
    assert any(part in one.says for part in ("2026", "lock-box"))


@pytest.mark.parametrize("kind", OWING)
def test_record_is_looked_at_from_the_first_day_on_which_it_may_be_told(kind: str) -> None:
    changes, _, due_on, _ = OWING[kind]
    ahead = (due.AHEAD_DAYS,) if kind == due.EXAMINATION_DUE else ()
    first = due_on + timedelta(days=schedules()[kind].days(ahead)[0])
    assert owes_on(make_record(**changes)) == first


def test_record_that_owes_several_is_looked_at_from_the_first_of_them() -> None:
    late, soon = OWING[due.LONG_STAY][0], OWING[due.WORK_OVERDUE][0]
    assert owes_on(make_record(**late, **soon)) == date(2026, 3, 26)


def test_record_that_owes_nothing_is_not_looked_at() -> None:
    assert owes_on(make_record()) is None


@pytest.mark.parametrize("kind", OWING)
def test_disposed_unit_owes_claims_only_and_one_that_is_another_nothing(kind: str) -> None:
    changes = OWING[kind][0]
    # A claim outlives the box: it was damaged on the lorry all the same.
    left = [due.CLAIM_NOTICE] if kind == due.CLAIM_NOTICE else []
    assert kinds(make_record(**(changes | {"presence": "disposed"}))) == left
    assert kinds(make_record(**changes, merged_into=UNIT)) == []
    assert owes_on(make_record(**changes, merged_into=UNIT)) is None


def test_unit_that_is_away_owes_only_claims_and_proofs() -> None:
    everything: dict[str, object] = {}
    for changes, *_ in OWING.values():
        everything |= changes
    away = make_record(**(everything | {"presence": "away", "sale": EXPORT, "left_at": NOW}))
    assert kinds(away) == [due.CLAIM_NOTICE, due.PROOF_OF_EXPORT]


def test_lenient_reading_gives_the_month_itself_and_is_never_looked_at_later() -> None:
    record = make_record(next_examination="2026-06", purpose=OTHERS)
    assert found(record, LENIENT)[0][2] == date(2026, 6, 30)
    assert owes_on(record) == date(2026, 3, 2)


@pytest.mark.parametrize(
    ("changes", "needs"),
    [
        ({}, False),
        ({"purpose": "purchase"}, False),
        ({"purpose": "customer-box"}, True),
        ({"purpose": OTHERS}, True),
        ({"purpose": "hire"}, True),
        ({"sale": STORAGE}, False),
        ({"sale": EXPORT}, True),
        ({"sale": LiveSale("s", "Ada", "transport", NOW)}, True),
        ({"reservation": LiveReservation("r", "Ada", NOW, "export")}, True),
        ({"reservation": LiveReservation("r", "Ada", NOW, "storage")}, False),
    ],
)
def test_examination_is_owed_for_export_hire_and_others_and_not_for_other_stock(
    changes: dict[str, object], needs: bool
) -> None:
    record = make_record(next_examination="2026-06", **changes)
    assert needs_examination(record) is needs
    assert (due.EXAMINATION_DUE in kinds(record)) is needs


def test_sale_decides_over_a_reservation_before_it() -> None:
    kept = LiveReservation("r", "Ada", NOW, "export")
    assert not needs_examination(make_record(sale=STORAGE, reservation=kept))


def test_transfer_is_awaited_from_its_leaving_and_an_old_expectation_is_not_heeded() -> None:
    record = make_record(
        presence="expected", whereabouts="in transit", left_at=NOW, expected_on="2025-01-01"
    )
    assert found(record) == [(due.NOT_ARRIVED, NOW, date(2026, 3, 4))]


def test_pre_advice_without_a_day_is_not_awaited() -> None:
    assert found(make_record(presence="expected", whereabouts="a supplier", left_at=NOW)) == []


def test_reference_that_ends_sooner_makes_the_collection_due_sooner() -> None:
    ends = LiveRelease("l", "K1", NOW, expires_at="2026-03-04T12:00:00+00:00")
    assert found(make_record(sale=STORAGE, release=ends))[0][2] == date(2026, 3, 4)


@pytest.mark.parametrize("purpose", ["customer-box", OTHERS])
def test_box_of_somebody_else_may_stay_as_long_as_it_likes(purpose: str) -> None:
    assert found(make_record(arrived_at=NOW, purpose=purpose)) == []


def test_sale_for_storage_needs_neither_pack_nor_proof() -> None:
    assert kinds(make_record(sale=STORAGE)) == []
    assert kinds(make_record(sale=STORAGE, presence="away", left_at=NOW)) == []


@pytest.mark.parametrize(
    ("zone", "day"),
    [("UTC", 9), ("Pacific/Auckland", 10), ("America/Los_Angeles", 8)],
)
def test_days_are_those_of_the_depot(zone: str, day: int) -> None:
    until = (
        "2026-03-09T12:00:00+00:00"
        if zone != "America/Los_Angeles"
        else "2026-03-09T05:00:00+00:00"
    )
    record = make_record(reservation=LiveReservation("r", "Ada", until, "storage"))
    assert found(record, zone=ZoneInfo(zone))[0][2] == date(2026, 3, day)
    assert found(record, zone=UTC)[0][2] == date(2026, 3, 9)


DUE_ON = date(2026, 6, 30)
EXAMINATION = schedules()[due.EXAMINATION_DUE]


@pytest.mark.parametrize(
    ("days_left", "passed"),
    [(90, 1), (31, 1), (30, 2), (7, 3), (0, 3), (-1, 4), (-7, 4), (-8, 5), (-15, 6), (-22, 7)],
)
def test_reminders_come_ahead_then_the_day_after_then_weekly(days_left: int, passed: int) -> None:
    today = DUE_ON - timedelta(days=days_left)
    told = tell(EXAMINATION, (90, 30, 7), DUE_ON, max(passed - 1, 1), today)
    assert told is not None
    assert told.step == passed


def test_nothing_is_told_before_the_first_day() -> None:
    assert tell(EXAMINATION, (90,), DUE_ON, 0, DUE_ON - timedelta(days=91)) is None
    assert tell(EXAMINATION, (), DUE_ON, 0, DUE_ON) is None


WORK = Schedule("k", "ks", "workshop", 0, (1, 8), 15, "s", Certainty.DESIGN)


def test_owner_is_told_then_the_manager_once_then_nobody() -> None:
    days = [DUE_ON + timedelta(days=day) for day in (1, 8, 15)]
    steps, told = [], 0
    for today in days:
        one = tell(WORK, (), DUE_ON, told, today)
        assert one is not None
        steps.append((one.step, one.role, one.is_last, one.next_on))
        told = one.step
    assert steps == [
        (1, "workshop", False, days[1]),
        (2, "workshop", False, days[2]),
        (3, "manager", True, None),
    ]


def test_what_is_found_long_after_goes_to_its_owner_first_and_is_escalated_a_week_later() -> None:
    today = DUE_ON + timedelta(days=300)
    first = tell(WORK, (), DUE_ON, 0, today)
    assert first is not None
    assert (first.role, first.is_last, first.next_on) == (
        "workshop",
        False,
        today + timedelta(days=7),
    )
    second = tell(WORK, (), DUE_ON, first.step, today + timedelta(days=7))
    assert second is not None
    assert (second.role, second.is_last, second.next_on) == ("manager", True, None)


def test_what_was_escalated_and_put_off_is_its_owners_again() -> None:
    again = tell(WORK, (), DUE_ON, 3, DUE_ON + timedelta(days=40))
    assert again is not None
    assert (again.role, again.is_last, again.next_on) == ("workshop", False, None)


def test_what_ends_by_itself_is_never_escalated() -> None:
    one = tell(schedules()[due.RESERVATION_EXPIRING], (), DUE_ON, 1, DUE_ON)
    assert one is not None
    assert (one.step, one.role, one.is_last, one.next_on) == (2, "sales", False, None)


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({"last_seen_at": "2026-03-01T08:00:00.000000+00:00"}, True),
        ({"last_seen_at": None}, True),
        ({"last_seen_at": NOW}, False),
        ({"presence": "away"}, False),
        ({"depot": "SOUTH"}, False),
        ({"merged_into": UNIT}, False),
    ],
)
def test_unit_missed_by_a_check_is_unseen_until_it_is_seen_or_gone(
    changes: dict[str, object], stands: bool
) -> None:
    record = make_record(**changes)
    assert is_still_unseen(record, unseen_cause("check/7", NOW), "NORTH") is stands
