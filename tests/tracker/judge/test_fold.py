"""The fold: one record for one history, whatever the order in which it arrived."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.events.union import FACTS
from schemas.records import Record, dump_record, load_record
from tests.support.events import (
    OF_KIND,
    PLATE,
    START,
    SUM_MASSES,
    UNIT,
    bad_digit,
    make_entry,
    make_mark,
)
from tests.support.model import Model
from tracker.judge.entry import Entry, moment_text
from tracker.judge.fold import FOLDERS, extend, fold, fold_telling, may_extend

MARK = make_mark(1)
FOLDED = sorted(FOLDERS)
RICH = {
    "gate-in": {"masses": SUM_MASSES, "plate": PLATE, "size_type": "22G1", "slot": "A1"},
    "gate-out": {"purpose": "transfer", "to_depot": "SOUTH", "photos": ["0" * 64]},
    "inspection": {
        "damages": [{"component": "door-panel", "kind": "dented"}],
        "condition": "as-is",
    },
    "modification": {"approval_effect": "void", "tag": "7"},
    "marking": {"masses": {"tare_kg": 2242}},
}


def entries_of(kinds: list[tuple[str, int]]) -> list[Entry]:
    doubt = {
        "id": "mass.sum",
        "severity": "doubt",
        "field": "masses",
        "message": "They do not add up.",
        "source": "CSC",
    }
    return [
        make_entry(
            kind,
            at=minutes,
            **RICH.get(kind, {}),
            resolved={"mark": make_mark(minutes % 3)} if minutes % 4 == 0 else {},
            findings=[doubt] if minutes % 5 == 0 else [],
            doubted=["masses"] if minutes % 5 == 0 else [],
        )
        for kind, minutes in kinds
    ]


HISTORIES = st.lists(
    st.tuples(st.sampled_from(FOLDED), st.integers(0, 40)), min_size=1, max_size=14
).map(entries_of)


def arrive(history: list[Entry]) -> Record:
    """Fold as a batch does: extend where that may be done, else all anew."""
    record = Record(UNIT)
    for at, entry in enumerate(history, start=1):
        if may_extend(record, entry):
            extend(record, entry)
        else:
            record = fold(UNIT, history[:at])
    return record


@settings(derandomize=True, max_examples=120, deadline=None)
@given(HISTORIES, st.randoms(use_true_random=False))
def test_any_arrival_order_gives_the_same_record_byte_for_byte(
    history: list[Entry], luck: random.Random
) -> None:
    in_order = dump_record(fold(UNIT, sorted(history, key=lambda entry: entry.key)))
    shuffled = list(history)
    luck.shuffle(shuffled)
    assert dump_record(arrive(shuffled)) == in_order
    assert dump_record(fold(UNIT, shuffled)) == in_order


@settings(derandomize=True, max_examples=60, deadline=None)
@given(HISTORIES)
def test_record_reads_back_as_written_and_folding_leaves_the_history_alone(
    history: list[Entry],
) -> None:
    before = [entry.as_override() for entry in history]
    record = fold(UNIT, history)
    assert load_record(dump_record(record)) == record
    assert dump_record(load_record(dump_record(record))) == dump_record(record)
    extend(load_record(dump_record(record)), make_entry("sighting", at=99))
    assert [entry.as_override() for entry in history] == before
    assert dump_record(fold(UNIT, history)) == dump_record(record)


@settings(derandomize=True, max_examples=60, deadline=None)
@given(HISTORIES, st.integers(0, 41))
def test_as_of_a_moment_only_what_took_effect_counts(history: list[Entry], minutes: int) -> None:
    until = moment_text(START.replace(minute=minutes))
    then = fold(UNIT, history, until=until)
    expected = fold(UNIT, [entry for entry in history if entry.effective_at <= until])
    expected.events = len(history)
    assert dump_record(then) == dump_record(expected)


@pytest.mark.parametrize("kind", FOLDED)
def test_kind_is_folded_on_an_empty_record_and_says_where_it_stands(kind: str) -> None:
    entry = make_entry(kind, at=3)
    record = fold(UNIT, [entry])
    assert (record.unit_id, record.events, record.last_key) == (UNIT, 1, entry.key)


@pytest.mark.parametrize("kind", FOLDED)
def test_photos_of_any_kind_are_kept_once(kind: str) -> None:
    photos = ["0" * 64, "1" * 64]
    record = fold(UNIT, [make_entry(kind, photos=photos), make_entry(kind, at=1, photos=photos)])
    assert record.photos == photos


@pytest.mark.parametrize("kind", sorted({*FACTS} - {"claim-notice"}))
def test_fact_after_a_disposal_is_asked_about_once_by_that_rule(kind: str) -> None:
    gone = make_entry("disposal")
    record, told = fold_telling(UNIT, [gone, after := make_entry(kind, at=1)], "none")
    assert told == []
    asked = [one for one in record.questions if one.finding == "presence.after-disposal"]
    assert [one.event for one in asked] == [after.event_id]


def test_entry_before_the_last_one_or_settling_may_not_extend() -> None:
    record = fold(UNIT, [make_entry("gate-in", at=5)])
    assert may_extend(record, make_entry("gate-in", at=6))
    assert not may_extend(record, make_entry("gate-in", at=4))
    assert not may_extend(record, make_entry("correction", at=6))
    assert not may_extend(record, make_entry("answer", at=6))


def test_telling_gives_what_the_one_event_brought_up() -> None:
    first, second = make_entry("gate-in"), make_entry("gate-in", at=1)
    _, told = fold_telling(UNIT, [first, second], second.event_id)
    assert [finding.id for finding in told] == ["presence.missed-departure"]
    assert fold_telling(UNIT, [first, second], first.event_id)[1] == []


def test_question_settled_does_not_open_again_and_its_id_survives_refolding() -> None:
    out = make_entry("gate-out", at=1, purpose="scrap")
    (question,) = fold(UNIT, [out]).questions
    late = make_entry("pre-advice", at=0)
    assert [one.id for one in fold(UNIT, [out, late]).questions] == [question.id]
    answer = make_entry("answer", at=2, resolved={"settles": [question.id]})
    later = fold(UNIT, [out, late, answer, make_entry("complaint", at=3)])
    assert later.questions == []


def test_one_finding_twice_opens_one_question() -> None:
    doubt = {
        "id": "mass.sum",
        "severity": "doubt",
        "field": "masses",
        "message": "!",
        "source": "CSC",
    }
    record = fold(UNIT, [make_entry("gate-in", findings=[doubt, doubt])])
    assert len(record.questions) == 1


@pytest.mark.parametrize("first", [0, 5])
def test_marks_do_not_show_which_report_arrived_first(first: int) -> None:
    for mark in (MARK, bad_digit(MARK)):
        model = Model()
        for at in (first, 5 - first):
            model.tell("sighting", at=at, mark=mark)
        record = model.unit_of(mark)
        assert [(one.mark, one.since) for one in record.marks] == [(mark, moment_text(START))]
        assert record.mark_state == ("good" if mark == MARK else "in-question")
        assert [one.field for one in record.questions].count("mark") == (mark != MARK)


def test_every_kind_of_event_has_its_plain_fields_here() -> None:
    assert set(RICH) <= set(OF_KIND)
