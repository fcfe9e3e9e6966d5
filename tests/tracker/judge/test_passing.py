"""A collection reference goes on to another collector once, and the old one opens nothing."""

from datetime import timedelta
from typing import Any

import pytest

from schemas.findings import Severity
from schemas.orders import CollectionNote, OrderRecord
from schemas.records import LiveRelease, LiveSale, Record
from tests.support.events import START, make_entry, make_event, make_record
from tests.support.model import Model
from tracker.judge import sale
from tracker.judge.entry import moment_text
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook
from tracker.judge.order_fold import fold_order
from tracker.judge.orders import judge_release_on_order
from tracker.judge.passing import judge_passing, judge_passing_on_order

NOW = moment_text(START)
LATER = START + timedelta(days=1)


def refusals(found: list[Any]) -> list[str]:
    return [one.id for one in found if one.severity is Severity.REFUSE]


def released(**changes: object) -> Record:
    release = LiveRelease("r", "COLLECT-1", NOW, **changes)  # type: ignore[arg-type]
    sold = LiveSale("s", "Ada", "storage", NOW, paid=True)
    return make_record(sale=sold, release=release)


@pytest.mark.parametrize(
    ("record", "asked", "refused"),
    [
        (released(), {}, []),
        (released(), {"reference": "collect 1"}, []),
        (released(), {"count": 1}, []),
        (released(), {"count": 2}, ["release.passes-on-too-many"]),
        (released(), {"reference": "COLLECT-2"}, ["clearance.wrong-reference"]),
        (released(former={"OLD-1": NOW}), {"reference": "old 1"}, ["clearance.passed-on"]),
        (released(cleared=True), {}, ["clearance.used-up"]),
        (released(expires_at=moment_text(LATER)), {}, []),
        (released(expires_at=NOW), {}, ["clearance.expired"]),
        (make_record(), {}, ["clearance.no-release"]),
    ],
)
def test_only_a_live_reference_of_a_unit_goes_on(
    record: Record, asked: dict[str, Any], refused: list[str]
) -> None:
    event = make_event("passing-on", **asked)
    assert refusals(judge_passing(event, record, START)) == refused  # type: ignore[arg-type]


def order(**changes: object) -> OrderRecord:
    note = CollectionNote("n", "COLLECT-1", 3, **({"used": 1} | changes))  # type: ignore[arg-type]
    return OrderRecord("o", count=3, allotted=["u"], collection=[note], paid=True)


@pytest.mark.parametrize(
    ("record", "asked", "refused"),
    [
        (order(), {}, []),
        (order(), {"count": 2}, []),
        (order(), {"count": 3}, ["release.passes-on-too-many"]),
        (order(used=3), {}, ["clearance.used-up"]),
        (order(expires_at=NOW), {}, ["clearance.expired"]),
        (order(passed_on_at=NOW), {}, ["clearance.passed-on"]),
        (order(), {"reference": "COLLECT-2"}, ["clearance.unknown-reference"]),
    ],
)
def test_only_what_is_left_on_an_orders_reference_goes_on(
    record: OrderRecord, asked: dict[str, Any], refused: list[str]
) -> None:
    event = make_event("passing-on", **asked)
    assert refusals(judge_passing_on_order(event, record, START)) == refused  # type: ignore[arg-type]


def test_gate_opens_on_the_new_reference_and_says_why_not_on_the_old() -> None:
    history = [
        make_entry("gate-in"),
        make_entry("sale", at=1),
        make_entry("release", at=2, haulier="Hob and Cart"),
        make_entry("passing-on", at=3, resolved={"reference": "NEW-1"}),
        make_entry("passing-on", at=4, reference="new 1", resolved={"reference": "NEW-2"}),
    ]
    record = fold("u", history)
    assert record.release is not None
    assert (record.release.reference, record.release.haulier) == ("NEW-2", None)
    assert record.release.collector == "Bo Thorn"
    gate = {
        reference: refusals(sale.hinders_leaving(record, LATER, Rulebook(), reference, "Any Lorry"))
        for reference in ("NEW-2", "NEW-1", "COLLECT-1", "COLLECT-9")
    }
    assert gate == {
        "NEW-2": [],
        "NEW-1": ["clearance.passed-on"],
        "COLLECT-1": ["clearance.passed-on"],
        "COLLECT-9": ["clearance.wrong-reference"],
    }


def test_passing_on_of_a_release_that_was_withdrawn_since_does_nothing() -> None:
    gone = fold("u", [make_entry("gate-in"), make_entry("passing-on", resolved={"reference": "N"})])
    assert gone.release is None


def placed(*more: Any) -> OrderRecord:  # noqa: ANN401 - entries
    given = {"order": "0" * 8 + "-0000-4000-8000-" + "0" * 12, "mark": None}
    return fold_order(
        "o",
        [
            make_entry("order", count=3),
            make_entry("release", at=1, count=3, resolved={"reference": "COLLECT-1"}, **given),
            *more,
        ],
    )


def counts(order: OrderRecord) -> list[tuple[str, int, int, bool]]:
    return [
        (one.reference, one.count, one.used, one.passed_on_at is not None)
        for one in order.collection
    ]


def passed(at: int, to: str, **asked: object) -> Any:  # noqa: ANN401 - an entry
    return make_entry("passing-on", at=at, resolved={"reference": to}, **asked)


def test_part_goes_on_and_the_rest_stays_until_all_has_gone() -> None:
    part = placed(passed(2, "N-1", count=1))
    assert counts(part) == [("COLLECT-1", 2, 0, False), ("N-1", 1, 0, False)]
    whole = placed(passed(2, "N-1", count=1), passed(3, "N-2"))
    assert counts(whole) == [("COLLECT-1", 0, 0, True), ("N-1", 1, 0, False), ("N-2", 2, 0, False)]
    assert [one.collector for one in whole.collection] == [None, "Bo Thorn", "Bo Thorn"]
    event = make_event("release", order="0" * 8 + "-0000-4000-8000-" + "0" * 12, mark=None)
    again = judge_release_on_order(event, whole, START)  # type: ignore[arg-type]
    assert refusals(again) == ["order.released-too-many"]


def test_unit_that_comes_back_does_not_wake_the_old_reference() -> None:
    allots = {"reference": "COLLECT-1", "allots": "unit"}
    returns = {"reference": "COLLECT-1", "returns": "unit"}
    back = placed(
        make_entry("clearance", at=2, resolved=allots),
        passed(3, "N-1"),
        make_entry("cancellation", at=4, resolved=returns),
    )
    assert counts(back) == [("COLLECT-1", 0, 0, True), ("N-1", 2, 0, False)]
    assert back.outstanding == 3


def test_cancelled_release_takes_along_what_was_passed_on_from_it() -> None:
    first = make_entry(
        "release", at=1, count=2, mark=None, order="0" * 32, resolved={"reference": "A"}
    )
    history = [make_entry("order", count=3), first, passed(2, "B", reference="A", count=1)]
    history.append(passed(3, "C", reference="B"))
    undone = make_entry("cancellation", at=4, cancels=first.event_id, mark=None)
    assert [note.left for note in fold_order("o", history).collection] == [1, 0, 1]
    assert [note.left for note in fold_order("o", [*history, undone]).collection] == [0, 0, 0]
    only_c = make_entry("cancellation", at=4, cancels=history[-1].event_id, mark=None)
    assert [note.left for note in fold_order("o", [*history, only_c]).collection] == [1, 0, 0]


def test_passing_on_is_not_withdrawn_by_a_correction() -> None:
    model = Model()
    for kind in ("gate-in", "sale", "release", "passing-on"):
        assert model.tell(kind).outcome == "recorded", kind
    ((unit, history),) = model.histories.items()
    undone = model.tell("correction", corrects=history[-1].event_id, withdrawn=True)
    assert [one["id"] for one in undone.findings] == ["correction.not-withdrawn"]
    assert model.record(unit).release is not None
