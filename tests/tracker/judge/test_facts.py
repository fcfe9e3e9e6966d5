import pytest

from schemas.events.union import FACTS
from schemas.records import DatedMark, Record
from tests.support.events import (
    START,
    SUM_MASSES,
    bad_digit,
    make_event,
    make_mark,
    make_record,
)
from tests.support.model import Model, doubts_in
from tracker.judge.entry import moment_text
from tracker.judge.facts import judge_fact
from tracker.judge.judgement import Rulebook

MARK, OTHER, THIRD = (make_mark(serial) for serial in (1, 300, 301))
RULES = Rulebook()


def ids(judgement: object) -> list[str]:
    return [finding.id for finding in judgement.findings]


@pytest.mark.parametrize("kind", FACTS)
def test_fact_of_any_kind_is_never_refused(kind: str) -> None:
    for record in (Record(""), make_record(), make_record(presence="disposed")):
        assert not judge_fact(make_event(kind), record, START, RULES).is_refused


def test_moment_within_the_tolerance_is_adopted_and_beyond_it_doubted() -> None:
    within = judge_fact(make_event("sighting", at=15), make_record(), START, RULES)
    beyond = judge_fact(make_event("sighting", at=16), make_record(), START, RULES)
    assert (ids(within), within.doubted) == ([], [])
    assert (ids(beyond), beyond.doubted) == (["event.happened-in-future"], ["happened_at"])


def test_first_sound_mark_is_adopted() -> None:
    judgement = judge_fact(make_event("gate-in"), Record(""), START, RULES)
    assert judgement.resolved == {"mark": MARK}


def test_first_mark_that_cannot_be_right_is_kept_in_question() -> None:
    bad = bad_digit(MARK)
    judgement = judge_fact(make_event("gate-in", mark=bad), Record(""), START, RULES)
    assert judgement.resolved == {"mark": bad, "mark_state": "in-question"}
    assert ids(judgement) == ["mark.check-digit"]


@pytest.mark.parametrize("as_read", [MARK, MARK[:10], f"{MARK[:4]} {MARK[4:10]}-{MARK[10]}", "???"])
def test_mark_the_unit_is_known_by_is_not_judged_again(as_read: str) -> None:
    known = as_read if as_read == "???" else MARK
    record = make_record(mark=known, marks=[DatedMark(known, moment_text(START))])
    judgement = judge_fact(make_event("gate-in", mark=as_read), record, START, RULES)
    assert (judgement.findings, judgement.resolved) == ([], {})


def test_late_report_lets_the_mark_be_borne_since_then() -> None:
    record = make_record(mark_state="in-question", marks=[DatedMark(MARK, moment_text(START))])
    late = judge_fact(make_event("sighting", at=-1), record, START, RULES)
    later = judge_fact(make_event("sighting", at=0), record, START, RULES)
    assert late.resolved == {"mark": MARK, "mark_state": "in-question"}
    assert later.resolved == {}


def test_other_sound_mark_of_a_unit_known_by_its_tag_is_doubted() -> None:
    model = Model()
    model.tell("gate-in", mark=MARK, tag="7")
    receipt = model.tell("sighting", mark=OTHER, tag="7", at=1)
    assert doubts_in(receipt.findings) == ["mark.differs"]
    assert model.unit_of(MARK).mark == MARK
    assert OTHER not in model.meaning, "the next report of it may be another box"


def test_mark_read_later_on_a_tagged_box_is_adopted() -> None:
    model = Model()
    model.tell("gate-in", mark=None, tag="7")
    receipt = model.tell("inspection", mark=MARK, tag="7", at=1)
    assert doubts_in(receipt.findings) == []
    assert len(model.histories) == 1
    assert (model.unit_of(MARK).mark, model.unit_of(MARK).tag) == (MARK, "7")


def test_mark_of_another_unit_on_a_tagged_box_is_asked_about_and_the_answer_joins_them() -> None:
    model = Model()
    model.tell("pre-advice", mark=MARK)
    model.tell("gate-in", mark=None, tag="7", at=1)
    receipt = model.tell("inspection", mark=MARK, tag="7", at=2)
    assert doubts_in(receipt.findings) == ["mark.taken"]
    tagged = model.record(str(receipt.unit))
    assert (tagged.tag, tagged.mark, tagged.presence) == ("7", None, "in-depot")
    (question,) = tagged.questions
    model.tell("answer", question=question.id, settlement="value", right_mark=MARK)
    joined = model.unit_of(MARK)
    assert (joined.presence, joined.tag, joined.questions) == ("in-depot", "7", [])
    assert model.record(tagged.unit_id).merged_into == joined.unit_id


def test_tag_of_another_marked_unit_is_not_adopted() -> None:
    model = Model()
    model.tell("gate-in", mark=MARK, tag="7")
    model.tell("gate-in", mark=OTHER)
    receipt = model.tell("sighting", mark=OTHER, tag="7", at=1)
    assert receipt.unit == model.meaning[OTHER]
    assert doubts_in(receipt.findings) == ["mark.tag-taken"]
    assert model.unit_of(OTHER).tag is None
    assert model.unit_of(MARK).tag == "7"


def test_new_mark_of_another_unit_is_not_adopted_by_a_known_or_a_new_unit() -> None:
    for known in (True, False):
        model = Model()
        if known:
            model.tell("gate-in", mark=MARK)
        model.tell("gate-in", mark=OTHER)
        receipt = model.tell("marking", mark=MARK, action="re-marked", new_mark=OTHER, at=1)
        assert doubts_in(receipt.findings)[0] == "mark.taken"
        assert model.unit_of(MARK).mark == MARK
        assert model.unit_of(OTHER).unit_id != model.unit_of(MARK).unit_id


def test_tagged_box_re_marked_from_one_units_mark_to_anothers_adopts_neither() -> None:
    model = Model()
    model.tell("gate-in", mark=MARK)
    model.tell("gate-in", mark=OTHER)
    model.tell("gate-in", mark=None, tag="7")
    receipt = model.tell("marking", mark=MARK, tag="7", action="re-marked", new_mark=OTHER, at=1)
    assert doubts_in(receipt.findings) == ["mark.taken", "mark.taken"]
    record = model.record(str(receipt.unit))
    assert (record.mark, len(record.questions)) == (None, 2)


def test_first_report_re_marks_a_bad_mark_to_a_good_one_and_leaves_the_unit_good() -> None:
    model = Model()
    model.tell("marking", mark=bad_digit(MARK), action="re-marked", new_mark=THIRD)
    assert (model.unit_of(THIRD).mark, model.unit_of(THIRD).mark_state) == (THIRD, "good")


def test_masses_that_do_not_add_up_are_doubted() -> None:
    masses = {**SUM_MASSES, "payload_kg": 28500}
    judgement = judge_fact(make_event("gate-in", masses=masses), make_record(), START, RULES)
    assert "mass.sum" in ids(judgement)
    assert all(path.startswith("masses.") for path in judgement.doubted)
    assert judgement.doubted
