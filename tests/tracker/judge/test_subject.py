from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.events.union import KINDS
from tests.support.events import make_event, make_mark
from tracker.judge.fold import FOLDERS
from tracker.judge.subject import (
    leans_on,
    other_subject_of,
    subject_of,
    subject_of_mark,
    subjects_of,
)

MARK, OTHER = make_mark(1), make_mark(300)


@pytest.mark.parametrize(
    "as_read", [MARK, MARK[:10], MARK.lower(), f"{MARK[:4]} {MARK[4:10]} {MARK[10]}"]
)
def test_mark_is_one_subject_however_it_is_written(as_read: str) -> None:
    assert subject_of_mark(as_read) == MARK


@pytest.mark.parametrize(("as_read", "subject"), [("no plate", "NOPLATE"), ("???", "???")])
def test_what_is_no_mark_is_a_subject_all_the_same(as_read: str, subject: str) -> None:
    assert subject_of_mark(as_read) == subject


@settings(derandomize=True, max_examples=200, deadline=None)
@given(st.text(min_size=1, max_size=40))
def test_subject_of_anything_is_its_own_subject_and_no_tag(as_read: str) -> None:
    subject = subject_of_mark(as_read)
    assert subject
    assert subject_of_mark(subject) == subject or len(subject_of_mark(subject)) == 11
    tags = subjects_of(make_event("sighting", mark=None, tag="7"))
    assert subject_of_mark("#NORTH/7") not in tags


@pytest.mark.parametrize("kind", sorted(set(FOLDERS) - {"passing-on"}))
def test_event_is_gathered_by_its_mark_or_else_by_its_tag(kind: str) -> None:
    assert subject_of(make_event(kind)) == MARK
    assert subjects_of(make_event(kind, tag="7")) == [MARK, "#NORTH/7"]
    assert subject_of(make_event(kind, mark=None, tag="7", depot="SOUTH")) == "#SOUTH/7"


def test_passing_on_is_gathered_by_its_reference_however_it_is_written() -> None:
    for written in ("COLLECT-1", "collect 1"):
        assert subjects_of(make_event("passing-on", reference=written)) == ["@COLLECT1"]


def test_settling_event_is_gathered_by_what_it_settles() -> None:
    answer, correction = make_event("answer"), make_event("correction")
    assert subject_of(answer) == "00000000-0000-0000-0000-000000000007"
    assert subject_of(correction) == "00000000-0000-0000-0000-000000000007"
    assert subjects_of(answer) == []


def test_event_leans_on_what_it_names_by_id_or_by_reference() -> None:
    named = UUID("00000000-0000-0000-0000-000000000007")
    leaning = {kind: on for kind in KINDS if (on := leans_on(make_event(kind))) is not None}
    assert leaning == {"answer": named, "correction": named, "passing-on": "@COLLECT1"}
    for mark in (MARK, None):
        assert leans_on(make_event("release", mark=mark, order=str(named))) == named
    assert leans_on(make_event("cancellation", mark=None, cancels=str(named))) == named
    assert leans_on(make_event("payment", mark=None, pays=str(named))) == named


def test_second_mark_of_an_event_is_found() -> None:
    changes = {"withdrawn": False, "changes": {"mark": OTHER}}
    assert other_subject_of(make_event("marking", action="re-marked", new_mark=OTHER)) == OTHER
    assert other_subject_of(make_event("answer", right_mark=OTHER[:10])) == OTHER
    assert other_subject_of(make_event("correction", **changes)) == OTHER
    assert other_subject_of(make_event("correction", changes={"mark": None})) is None
    assert other_subject_of(make_event("gate-in")) is None
