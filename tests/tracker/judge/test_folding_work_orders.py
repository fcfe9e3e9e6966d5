"""An order closes when all its lines are done, whichever of order and report comes first."""

from datetime import timedelta
from itertools import permutations
from typing import Any
from uuid import UUID

import pytest

from schemas.records import OpenDamage, OpenOrder, Record, dump_record, load_record
from tests.support.events import START, UNIT, make_entry, make_event, make_record
from tests.support.model import Model
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import Entry, moment_text
from tracker.judge.fold import extend, fold
from tracker.judge.judgement import Rulebook

ORDER = str(UUID(int=0x0D))
NOW = moment_text(START)
MIXED = [{"work": "lock-box"}, {"work": "floor-mend"}, {"work": "door-marking"}]
TOLD_BY = {"floor-mend": "repair", "door-marking": "marking", "repaint": "marking"}


def order(*lines: dict[str, Any], at: float = 60, **said: Any) -> Entry:  # noqa: ANN401 - fields
    return make_entry(
        "work-order", id=ORDER, at=at, lines=list(lines), resolved={"told_by": TOLD_BY}, **said
    )


def left(*entries: Entry) -> list[dict[str, int]]:
    record = fold(UNIT, [make_entry("gate-in"), *entries])
    return [one.left() for one in record.orders]


def fitted(work: str, count: int = 1, **said: Any) -> Entry:  # noqa: ANN401 - fields
    fittings = [{"work": work, "count": count, "mass_kg": 9}]
    return make_entry("modification", fittings=fittings, **said)


def test_order_of_all_three_kinds_closes_with_the_last_of_them_in_any_order() -> None:
    reports = (
        fitted("lock-box", at=70, order=ORDER),
        make_entry("repair", at=71, order=ORDER),
        make_entry("marking", at=72, order=ORDER),
    )
    for told in permutations(reports):
        assert left(order(*MIXED), *told) == []
        for missing in range(3):
            some = [one for at, one in enumerate(told) if at != missing]
            ((work, count),) = left(order(*MIXED), *some)[0].items()
            assert count == 1
            assert TOLD_BY.get(work, "modification") == told[missing].kind


@pytest.mark.parametrize("at", [10, 59.9, 60, 61])
@pytest.mark.parametrize("line", MIXED)
def test_report_that_names_the_order_closes_it_whenever_it_was_done(
    at: float, line: dict[str, Any]
) -> None:
    kind = TOLD_BY.get(line["work"], "modification")
    said = {"fittings": [{**line, "mass_kg": 9}]} if kind == "modification" else {}
    assert left(order(line), make_entry(kind, at=at, order=ORDER, **said)) == []


def test_order_of_paint_only_closes_by_a_marking_that_names_it_and_by_no_other() -> None:
    painted = order({"work": "door-marking"}, {"work": "repaint"})
    assert left(painted, make_entry("marking", at=70, order=ORDER)) == []
    assert left(painted, make_entry("marking", at=70)) == [{"door-marking": 1, "repaint": 1}]
    only = make_entry("marking", at=70, order=ORDER, work=["repaint"])
    assert left(painted, only) == [{"door-marking": 1}]
    assert left(painted, make_entry("repair", at=70, order=ORDER)) == [
        {"door-marking": 1, "repaint": 1}
    ]


def test_pieces_add_up_and_those_of_another_work_do_not_count() -> None:
    vents = order({"work": "louvre-vent", "count": 4})
    two = [fitted("louvre-vent", 2, at=at, order=ORDER) for at in (70, 80)]
    assert left(vents, two[0]) == [{"louvre-vent": 2}]
    assert left(vents, *two) == []
    assert left(vents, fitted("lock-box", 4, at=70, order=ORDER)) == [{"louvre-vent": 4}]


def test_work_done_between_asking_and_recording_closes_the_order_that_it_could_not_name() -> None:
    # Asked for at minute 0 without signal, recorded at minute 60.
    asked = {"happened_at": START.isoformat()}
    for at, remains in ((5, []), (-5, [{"lock-box": 1}]), (70, [{"lock-box": 1}])):
        done = fitted("lock-box", at=at)
        late = order({"work": "lock-box"})
        late.payload |= asked
        early = make_entry("gate-in", at=-60)
        record = fold(UNIT, [early, done, late])
        assert [one.left() for one in record.orders] == remains


def test_one_piece_of_work_counts_for_one_order_only() -> None:
    asked = {"happened_at": START.isoformat()}
    first, second = order({"work": "lock-box"}), order({"work": "lock-box"})
    second.event_id = str(UUID(int=0x0E))
    second.payload |= asked
    first.payload |= asked
    record = fold(UNIT, [make_entry("gate-in", at=-60), fitted("lock-box", at=5), first, second])
    assert [one.id for one in record.orders] == [second.event_id]
    assert record.work_ahead == []


def test_late_order_that_earlier_work_has_done_leaves_other_work_alone() -> None:
    asked = {"happened_at": START.isoformat()}
    late = order({"work": "lock-box"})
    late.payload |= asked
    early = [make_entry("gate-in", at=-60), fitted("lock-box", at=5), fitted("louvre-vent", at=7)]
    record = fold(UNIT, [*early, late])
    assert record.orders == []
    assert [one.pieces for one in record.work_ahead] == [{"louvre-vent": 1}]
    old = make_entry("work-order", id=ORDER, at=60, lines=MIXED)
    named = [make_entry("repair", at=at, order=ORDER) for at in (5, 7)]
    assert fold(UNIT, [*early[:1], *named, old]).orders == []


def test_what_was_done_in_an_earlier_stay_counts_for_no_order_of_this_one() -> None:
    asked = {"happened_at": (START).isoformat()}
    late = order({"work": "lock-box"}, at=300)
    late.payload |= asked
    stay = [make_entry("gate-in", at=-60), fitted("lock-box", at=5), make_entry("gate-out", at=6)]
    assert fold(UNIT, [*stay, late]).orders == []
    again = fold(UNIT, [*stay, make_entry("gate-in", at=200), late])
    assert [one.left() for one in again.orders] == [{"lock-box": 1}]


def test_work_that_names_an_order_of_another_waits_for_it() -> None:
    other = fitted("lock-box", at=70, order=str(UUID(int=0x99)))
    record = fold(UNIT, [make_entry("gate-in"), order({"work": "lock-box"}), other])
    assert [one.id for one in record.orders] == [ORDER]
    assert [one.order for one in record.work_ahead] == [str(UUID(int=0x99))]


DAY = 24 * 60.0


def test_work_waits_thirty_days_for_its_order_and_no_longer() -> None:
    done = fitted("lock-box", at=0, order=ORDER)
    assert left(done, order({"work": "lock-box"}, at=30 * DAY)) == []
    assert left(done, order({"work": "lock-box"}, at=30 * DAY + 1)) == [{"lock-box": 1}]
    unnamed = fitted("lock-box", at=0)
    asked = {"happened_at": (START - timedelta(hours=1)).isoformat()}
    for at, remains in ((30 * DAY, []), (30 * DAY + 1, [{"lock-box": 1}])):
        late = order({"work": "lock-box"}, at=at)
        late.payload |= asked
        assert left(unnamed, late) == remains


def test_record_keeps_no_work_for_orders_that_are_done_or_never_come() -> None:
    """However long a unit is worked on: what is kept is what was done within thirty days."""
    record, longest = Record(UNIT), 0
    extend(record, make_entry("gate-in", at=-60))
    for week in range(100):
        at = week * 7 * DAY
        placed = str(UUID(int=0x100 + week))
        asked = make_entry("work-order", id=placed, at=at, lines=[{"work": "lock-box"}])
        reports = [fitted("lock-box", at=at + 1 + turn, order=placed) for turn in range(2)]
        never = make_entry("marking", at=at + 5, order=str(UUID(int=0x999 + week)))
        for entry in (asked, *reports, never, fitted("louvre-vent", at=at + 6)):
            extend(record, entry)
        longest = max(longest, len(record.work_ahead))
    assert longest == 5 * 3
    extend(record, make_entry("gate-out", at=200 * 7 * DAY))
    extend(record, make_entry("gate-in", at=201 * 7 * DAY))
    assert (record.work_ahead, record.orders) == ([], [])


def test_order_that_is_done_or_cancelled_takes_along_what_was_reported_for_it() -> None:
    twice = [fitted("lock-box", at=at, order=ORDER) for at in (70, 80)]
    assert fold(UNIT, [make_entry("gate-in"), *twice, order(MIXED[0], at=90)]).work_ahead == []
    gone = make_entry("cancellation", at=95, cancels=ORDER)
    record = fold(UNIT, [make_entry("gate-in"), *twice, gone])
    assert (record.work_ahead, record.orders) == ([], [])


def test_late_report_for_a_cancelled_order_takes_its_place_before_the_cancellation() -> None:
    told = [
        make_entry("gate-in"),
        order({"work": "lock-box"}, at=60),
        fitted("lock-box", at=70, order=ORDER),
        make_entry("cancellation", at=80, cancels=ORDER),
    ]
    records = {dump_record(fold(UNIT, list(some))) for some in permutations(told)}
    assert len(records) == 1
    assert (fold(UNIT, told).orders, fold(UNIT, told).work_ahead) == ([], [])


def test_order_from_before_lines_were_told_apart_closes_by_whatever_names_it() -> None:
    old = make_entry("work-order", id=ORDER, at=60, lines=MIXED)
    for kind in ("repair", "modification"):
        for at in (10, 70):
            assert left(old, make_entry(kind, at=at, order=ORDER)) == []


def test_late_order_and_late_report_give_one_record_extended_or_folded_anew() -> None:
    entries = [
        make_entry("gate-in"),
        fitted("lock-box", at=20, order=ORDER),
        order(*MIXED),
        make_entry("marking", at=90, order=ORDER),
    ]
    record = Record(UNIT)
    for entry in entries:
        extend(record, load_and_keep(record, entry))
    assert dump_record(record) == dump_record(fold(UNIT, entries))
    assert [one.left() for one in record.orders] == [{"floor-mend": 1}]
    shuffled = [entries[2], entries[0], entries[3], entries[1]]
    assert dump_record(fold(UNIT, shuffled)) == dump_record(record)


def load_and_keep(record: Record, entry: Entry) -> Entry:
    """Return the entry, the record having been written down and read between."""
    assert dump_record(load_record(dump_record(record))) == dump_record(record)
    return entry


def test_judging_an_order_looks_up_what_tells_of_its_lines() -> None:
    event = make_event("work-order", lines=MIXED)
    judgement = judge_decision(event, make_record(), START, Rulebook())  # type: ignore[arg-type] # a decision
    told_by = judgement.resolved["told_by"]
    assert (told_by["floor-mend"], told_by["repaint"]) == ("repair", "marking")
    assert "lock-box" not in told_by


def test_corrected_order_waits_for_the_lines_it_then_has() -> None:
    model = Model()
    model.tell("gate-in")
    (unit,) = model.histories
    model.tell("work-order", id=ORDER, at=5, lines=[{"work": "lock-box"}])
    changes = {"lines": [{"work": "repaint"}]}
    told = model.tell(
        "correction", at=6, received=620, corrects=ORDER, withdrawn=False, changes=changes
    )
    assert told.outcome == "recorded"
    model.tell("marking", at=630, received=640, order=ORDER)
    assert model.record(unit).orders == []


def test_mending_that_names_its_work_mends_only_the_damage_it_names() -> None:
    damages = [OpenDamage(name, "door", "dent", "soon", NOW) for name in ("d/1", "d/2")]
    record = make_record(damages=list(damages), orders=[OpenOrder(ORDER, {"floor-mend": 1}, NOW)])
    extend(record, make_entry("repair", order=ORDER, work=["floor-mend"]))
    assert [one.id for one in record.damages] == ["d/1", "d/2"]
    extend(record, make_entry("repair", at=1, work=["floor-mend"], damages=["d/2"]))
    assert [one.id for one in record.damages] == ["d/1"]


def test_weighing_is_owed_since_the_first_cut_until_it_is_weighed() -> None:
    cut = {"resolved": {"cuts": True}}
    first, again = (make_entry("modification", at=at, **cut) for at in (5, 50))
    record = fold(UNIT, [make_entry("gate-in"), first, again])
    assert (record.to_weigh, record.to_weigh_since) == (True, first.effective_at)
    weighed = make_entry("modification", at=90, fittings=[], weighed_tare_kg=2300)
    record = fold(UNIT, [make_entry("gate-in"), first, weighed])
    assert (record.to_weigh, record.to_weigh_since) == (False, None)
    record = fold(UNIT, [make_entry("gate-in"), first, weighed, make_entry(
        "modification", at=95, **cut)])  # fmt: skip
    assert record.to_weigh_since == moment_text(START).replace("08:00", "09:35")
