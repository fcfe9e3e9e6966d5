"""Conversions sold with a unit hold its release until the record tells that they are done."""

import pytest

from schemas.findings import Severity
from schemas.records import Record
from shared.work import starting_catalogue
from tests.support.events import START, UNIT, make_entry
from tracker.judge import sale
from tracker.judge.entry import Entry
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook
from tracker.judge.release_rules import override
from tracker.judge.sold_work import work_missing, work_named

RULES = Rulebook(catalogue=starting_catalogue())
HELD = "release.sold-work-missing"
VENTS = {"what": "louvre-vent", "count": 2, "price_each": "48.00"}


def sold_with(*lines: dict[str, object], at: float = 10) -> Entry:
    return make_entry("sale", at=at, price="900.00", lines=list(lines))


def fitted(count: int, at: float) -> Entry:
    piece = {"work": "louvre-vent", "count": count, "mass_kg": 3, "cut_out_kg": 1}
    return make_entry("modification", at=at, fittings=[piece])


def told(*history: Entry) -> dict[str, Severity]:
    record = fold(UNIT, [make_entry("gate-in", at=-60), *history])
    found = sale.hinders_release(record, START, RULES)
    return {one.id: one.severity for one in found if one.id.startswith("release.sold-")}


@pytest.mark.parametrize(
    ("history", "found"),
    [
        ([], {HELD: Severity.REFUSE}),
        ([fitted(1, at=20)], {HELD: Severity.REFUSE}),
        ([fitted(2, at=20)], {}),
        ([fitted(1, at=20), fitted(1, at=30)], {}),
        ([fitted(2, at=5)], {"release.sold-work-from-before": Severity.WARN}),
        ([fitted(1, at=5), fitted(1, at=20)], {"release.sold-work-from-before": Severity.WARN}),
        ([fitted(2, at=5), fitted(2, at=20)], {}),
    ],
)
def test_release_waits_for_the_pieces_that_were_sold(
    history: list[Entry], found: dict[str, Severity]
) -> None:
    assert told(sold_with(VENTS), *history) == found


@pytest.mark.parametrize("kind", ["storage", "export", "transport"])
def test_it_waits_for_any_use_and_a_manager_may_let_it_pass(kind: str) -> None:
    record = fold(UNIT, [make_entry("gate-in"), sold_with(VENTS)])
    record.sale.intended_use = kind
    (held,) = [one for one in sale.hinders_release(record, START, RULES) if one.id == HELD]
    assert "2 \N{MULTIPLICATION SIGN} louvre vent" in held.message
    (passed,) = override([held], "the buyer fits them himself")
    assert passed.severity is Severity.WARN


def test_what_is_mended_or_painted_counts_by_the_line_and_only_in_this_stay() -> None:
    paint = {"what": "Outside painted over in one colour", "price_each": "640.00"}
    marking = make_entry("marking", at=20, action="repainted", work=["repaint"])
    early = make_entry("marking", at=5, action="repainted", work=["repaint"])
    assert told(sold_with(paint)) == {HELD: Severity.REFUSE}
    assert told(sold_with(paint), marking) == {}
    assert told(sold_with(paint), early) == {"release.sold-work-from-before": Severity.WARN}
    back = [make_entry("gate-out", at=6), make_entry("gate-in", at=7)]
    assert told(early, *back, sold_with(paint)) == {HELD: Severity.REFUSE}


def test_work_done_on_an_order_counts_though_the_report_names_no_line() -> None:
    ordered = make_entry(
        "work-order",
        at=11,
        lines=[{"work": "repaint"}],
        resolved={"told_by": {"repaint": "marking"}},
    )
    done = make_entry("marking", at=20, action="repainted", order=ordered.event_id)
    paint = {"what": "repaint", "price_each": "640.00"}
    assert told(sold_with(paint), ordered, done) == {}
    # The report may come before the order that it names.
    assert told(sold_with(paint), done, ordered) == {}


def test_lines_that_are_no_work_are_told_and_hold_nothing() -> None:
    brought = {"what": "Bringing it to the site", "price_each": "120.00"}
    assert told(sold_with(brought)) == {"release.sold-beside-catalogue": Severity.NOTE}
    assert told(make_entry("sale", at=10, price="900.00")) == {}


@pytest.mark.parametrize(
    ("what", "name"),
    [
        ("louvre-vent", "louvre-vent"),
        ("Louvre vents", "louvre-vent"),
        (" LOCK  BOX ", "lock-box"),
        ("Outside painted over in one colour", "repaint"),
        ("a flag", None),
        ("", None),
    ],
)
def test_line_names_work_as_people_write_it(what: str, name: str | None) -> None:
    assert work_named(what, starting_catalogue()) == name


def test_what_is_missing_is_told_by_the_piece() -> None:
    lines = (VENTS, {"what": "Louvre vent", "count": 1, "price_each": "48.00"})
    record = fold(UNIT, [make_entry("gate-in"), sold_with(*lines), fitted(1, at=20)])
    assert work_missing(record, starting_catalogue()) == {"louvre-vent": 2}
    assert work_missing(Record(UNIT), starting_catalogue()) == {}
