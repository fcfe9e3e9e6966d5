"""Whether a unit left as the barrier let it, and what a late clearance answers."""

from __future__ import annotations

import pytest

from schemas.events.gate import Clearance, GateOut, Purpose
from schemas.records import Record, dump_record, load_record
from tests.support.events import START, UNIT, entry_of_event, make_entry, make_event, make_record
from tracker.judge import leaving
from tracker.judge.entry import Entry
from tracker.judge.facts import judge_fact
from tracker.judge.fold import fold, fold_telling
from tracker.judge.judgement import Rulebook
from tracker.judge.leaving import as_it_left
from tracker.judge.presence import LEFT_UNRELEASED, NEEDS_RELEASE

REFERENCE = "QUILL-7K4M2P"
AGAINST = leaving.AGAINST_ANSWER.id


def released(**changes: object) -> list[Entry]:
    release = make_entry("release", at=10, reference=REFERENCE, **changes)
    return [make_entry("gate-in", at=0), make_entry("sale", at=5), release]


def cleared(at: float = 20, **changes: object) -> Entry:
    return make_entry("clearance", at=at, reference=REFERENCE, **changes)


def left(at: float = 30, **changes: object) -> Entry:
    event = make_event("gate-out", at=at, **({"purpose": "sale"} | changes))
    assert isinstance(event, GateOut)
    judged = judge_fact(event, Record(UNIT), event.happened_at, Rulebook())
    return entry_of_event(event, judged.doubted, judged.resolved)


def passed_on(at: float) -> Entry:
    return make_entry(
        "passing-on", at=at, reference=REFERENCE, resolved={"reference": "BAND-9ZZQ1X"}
    )


def breaches_of(history: list[Entry]) -> list[tuple[str, str]]:
    return [(breach.finding, breach.says) for breach in fold(UNIT, history).breaches]


def test_released_unit_that_nobody_cleared_is_a_breach_told_at_once() -> None:
    out = left()
    record, told = fold_telling(UNIT, [*released(), out], out.event_id)
    assert [finding.id for finding in told] == [AGAINST]
    assert told[0].seen == ["nobody had cleared it at the barrier"]
    assert [breach.event for breach in record.breaches] == [out.event_id]


@pytest.mark.parametrize("purpose", sorted(NEEDS_RELEASE))
def test_cleared_unit_leaves_with_nothing_wrong_named_or_not(purpose: str) -> None:
    before = [*released(haulier="Tarn Haulage"), cleared(haulier="TARN haulage")]
    assert breaches_of([*before, left(purpose=purpose)]) == []
    said = {"reference": "quill 7k4m2p", "haulier": "tarn haulage"}
    assert breaches_of([*before, left(purpose=purpose, **said)]) == []


@pytest.mark.parametrize("purpose", sorted({*Purpose} - NEEDS_RELEASE))
def test_departure_that_needs_no_release_is_asked_for_no_clearance(purpose: str) -> None:
    assert breaches_of([*released(), left(purpose=purpose, reference="ANOTHER-1")]) == []


def test_wrong_reference_and_haulier_are_told_together_and_no_reference_in_full() -> None:
    history = [
        *released(haulier="Tarn Haulage"),
        left(reference="WRONG-REF", haulier="Nobody Ltd"),
    ]
    ((finding, says),) = breaches_of(history)
    assert finding == AGAINST
    assert "nobody had cleared it" in says
    assert "…REF" in says
    assert "…M2P" in says
    assert "it was to go with Tarn Haulage, and went with Nobody Ltd" in says
    assert REFERENCE not in says
    assert "WRONG" not in says


def test_short_reference_is_not_told_at_all() -> None:
    assert leaving._end("AB-12") == "…"


def test_cleared_unit_that_goes_on_another_reference_is_a_breach() -> None:
    ((_, says),) = breaches_of([*released(), cleared(), left(reference="OTHER-5TT9XY")])
    assert says == (
        "It left NORTH for sale and should not have: it went on the reference …9XY, and its "
        "release is on …M2P."
    )


def test_reference_that_was_passed_on_takes_nothing_out() -> None:
    ((_, says),) = breaches_of([*released(), passed_on(15), left(reference=REFERENCE)])
    assert "its reference …M2P was passed on at 2026-03-02 08:15 UTC" in says


def test_expired_release_is_told_where_nobody_cleared_it() -> None:
    ends = START.replace(minute=25).isoformat()
    ((_, says),) = breaches_of([*released(expires_at=ends), left()])
    assert "its release had expired at 2026-03-02 08:25 UTC" in says
    assert breaches_of([*released(expires_at=ends), cleared(), left()]) == []


def test_haulier_whom_a_manager_let_pass_may_take_it_and_no_third_one() -> None:
    before = [*released(haulier="Tarn Haulage"), cleared(haulier="Moss Carriers")]
    assert breaches_of([*before, left(haulier="Moss Carriers")]) == []
    ((_, says),) = breaches_of([*before, left(haulier="Nobody Ltd")])
    assert "it was to go with Moss Carriers, and went with Nobody Ltd" in says


def test_departure_recorded_before_there_was_the_rule_stays_as_it_was() -> None:
    assert breaches_of([*released(), make_entry("gate-out", at=30, purpose="sale")]) == []


def late_clearance(**changes: object) -> Entry:
    """Asked for at 08:20, taken in at 08:50."""
    entry = cleared(at=20, **changes)
    entry.effective_at = make_entry("clearance", at=50).effective_at
    return entry


def test_clearance_asked_for_before_it_left_answers_the_breach_when_it_comes_in() -> None:
    out = left()
    record, told = fold_telling(UNIT, [*released(), out, late_clearance()], out.event_id)
    assert told == []
    assert (record.breaches, record.uncleared, record.release) == ([], None, None)
    assert record.presence == "away"


def test_late_clearance_answers_only_for_the_haulier_it_is_for() -> None:
    history = [*released(haulier="Tarn Haulage"), left(haulier="Nobody Ltd"), late_clearance()]
    ((finding, says),) = breaches_of(history)
    assert finding == AGAINST
    assert "nobody had cleared it" not in says
    assert "went with Nobody Ltd" in says


def test_late_clearance_on_an_order_answers_for_the_missing_release() -> None:
    history = [make_entry("gate-in"), left(reference=REFERENCE)]
    assert [finding for finding, _ in breaches_of(history)] == [LEFT_UNRELEASED.id]
    late = late_clearance()
    late.resolved = {"reference": REFERENCE, "haulier": "Tarn Haulage"}
    assert breaches_of([*history, late]) == []


def test_clearance_asked_for_after_it_left_answers_nothing() -> None:
    history = [*released(), left(at=30), cleared(at=31)]
    assert [finding for finding, _ in breaches_of(history)] == [AGAINST]


def test_late_clearance_is_judged_by_the_release_that_stood_when_it_left() -> None:
    record = load_record(dump_record(fold(UNIT, [*released(), left()])))
    asked = make_event("clearance", at=20, reference=REFERENCE)
    assert isinstance(asked, Clearance)
    then = as_it_left(record, asked)
    assert then.release is not None
    assert (then.presence, then.release.reference) == ("in-depot", REFERENCE)
    after = make_event("clearance", at=31, reference=REFERENCE)
    assert isinstance(after, Clearance)
    assert as_it_left(record, after) is record
    assert as_it_left(here := make_record(), asked) is here


def test_unit_that_came_back_asks_for_no_late_clearance() -> None:
    history = [*released(), left(), make_entry("gate-in", at=40, purpose="take-back")]
    assert fold(UNIT, history).uncleared is None
