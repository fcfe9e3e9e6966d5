"""Answers and corrections: after them the record is what the right reports would have made."""

from __future__ import annotations

from typing import Any

import pytest

from schemas.records import Record, dump_record
from tests.support.events import PLATE, SUM_MASSES, bad_digit, make_mark
from tests.support.model import Model, ModelReceipt

MARK, OTHER = make_mark(1), make_mark(300)
OFF = {**SUM_MASSES, "payload_kg": 28500}
LATE_PLATE = {**PLATE, "manufactured_in": "2031-01"}


def only_id(kind: str, model: Model) -> str:
    (found,) = [
        entry.event_id for line in model.histories.values() for entry in line if entry.kind == kind
    ]
    return found


def asked(model: Model, mark: str) -> dict[str, str]:
    return {question.finding: question.id for question in model.unit_of(mark).questions}


def answer(model: Model, finding: str, mark: str = MARK, **said: Any) -> ModelReceipt:  # noqa: ANN401 - fields
    return settle(model, asked(model, mark)[finding], **said)


def settle(model: Model, question: str, **said: Any) -> ModelReceipt:  # noqa: ANN401 - fields
    return model.tell("answer", question=question, **{"settlement": "value", **said})


def correct(model: Model, kind: str, changes: dict[str, Any]) -> ModelReceipt:
    return model.tell("correction", corrects=only_id(kind, model), withdrawn=False, changes=changes)


def plain(record: Record) -> bytes:
    """Return a record without what counts reports or is made of event ids."""
    record.events, record.unit_id, record.last_key = 0, "", ("", 0, "")
    for noted in (record.sale, record.reservation, record.release, *record.damages):
        if noted is not None:
            noted.id = ""
    return dump_record(record)


def test_withdrawn_report_is_as_if_it_had_never_been() -> None:
    told, silent = Model(), Model()
    for model in (told, silent):
        model.tell("gate-in", masses=SUM_MASSES)
        if model is told:
            model.tell("modification", at=1)
        model.tell("inspection", condition="as-is", at=2)
    told.tell("correction", corrects=only_id("modification", told), withdrawn=True)
    assert plain(told.unit_of(MARK)) == plain(silent.unit_of(MARK))


def test_unit_keeps_its_mark_when_the_report_that_gave_it_is_withdrawn() -> None:
    for mark, state in ((MARK, "good"), (bad_digit(MARK), "in-question")):
        model = Model()
        model.tell("gate-in", mark=mark)
        model.tell("inspection", mark=mark, at=1)
        model.tell("correction", corrects=only_id("gate-in", model), withdrawn=True)
        record = model.unit_of(mark)
        assert (record.mark, record.mark_state) == (mark, state)
        asked_about = [question.field for question in record.questions if question.field == "mark"]
        assert asked_about == (["mark"] if state == "in-question" else [])


def test_late_report_in_question_keeps_the_question_when_the_first_one_goes() -> None:
    model, bad = Model(), bad_digit(MARK)
    model.tell("gate-in", mark=bad, at=5)
    model.tell("sighting", mark=bad, at=1)
    assert "mark.unsettled" not in asked(model, bad)
    model.tell("correction", corrects=only_id("gate-in", model), withdrawn=True)
    assert "mark.unsettled" in asked(model, bad)
    answer(model, "mark.unsettled", bad, right_mark=MARK)
    assert (model.unit_of(MARK).mark, model.unit_of(MARK).mark_state) == (MARK, "good")


@pytest.mark.parametrize(
    "changes", [{"slot": "B2"}, {"masses": {"tare_kg": 2500}}, {"size_type": "45G1"}]
)
def test_correction_is_as_if_the_right_report_had_come(changes: dict[str, Any]) -> None:
    wrong, right = Model(), Model()
    wrong.tell("gate-in", slot="A1", size_type="22G1", masses=SUM_MASSES, id=str_id(1))
    correct(wrong, "gate-in", changes)
    said = {"slot": "A1", "size_type": "22G1", "masses": SUM_MASSES} | changes
    right.tell("gate-in", id=str_id(1), **said)
    assert plain(wrong.unit_of(MARK)) == plain(right.unit_of(MARK))


def str_id(number: int) -> str:
    return f"00000000-0000-0000-0000-{number:012d}"


def test_moved_moment_folds_at_its_right_place() -> None:
    model = Model()
    model.tell("gate-in", at=0)
    model.tell("gate-out", at=60, purpose="transfer", to_depot="SOUTH")
    model.tell("restow", at=90)
    assert "presence.seen-but-not-in" in asked(model, MARK)
    correct(model, "restow", {"happened_at": "2026-03-02T08:30:00Z"})
    assert asked(model, MARK) == {}
    assert (model.unit_of(MARK).presence, model.unit_of(MARK).depot) == ("expected", "SOUTH")


def test_answer_by_value_adopts_it_and_settles_the_question() -> None:
    model = Model()
    model.tell("gate-in", masses=OFF)
    assert model.unit_of(MARK).payload_kg is None
    assert answer(model, "mass.sum", masses=SUM_MASSES).outcome == "recorded"
    record = model.unit_of(MARK)
    assert (record.gross_kg, record.tare_kg, record.payload_kg) == (30480, 2230, 28250)
    assert record.questions == []


def test_answer_that_leaves_the_doubt_is_refused() -> None:
    model = Model()
    model.tell("gate-in", masses=OFF)
    receipt = answer(model, "mass.sum", masses=OFF)
    assert [one["id"] for one in receipt.findings] == ["answer.still-doubtful"]
    assert "mass.sum" in asked(model, MARK)


def test_two_doubts_of_one_report_are_answered_one_after_the_other() -> None:
    model = Model()
    model.tell("gate-in", masses=OFF, plate=LATE_PLATE)
    assert set(asked(model, MARK)) == {"mass.sum", "plate.made-in-future"}
    assert answer(model, "mass.sum", masses=SUM_MASSES).outcome == "recorded"
    assert set(asked(model, MARK)) == {"plate.made-in-future"}
    assert answer(model, "plate.made-in-future", plate=PLATE).outcome == "recorded"
    assert asked(model, MARK) == {}


@pytest.mark.parametrize(
    "order", [("mass.sum", "mark.check-digit"), ("mark.check-digit", "mass.sum")]
)
def test_report_painted_so_in_two_ways_asks_for_both_coats(order: tuple[str, str]) -> None:
    model, bad = Model(), bad_digit(MARK)
    model.tell("gate-in", mark=bad, masses=OFF)
    for finding in order:
        assert answer(model, finding, bad, settlement="as-painted").outcome == "recorded"
    record = model.unit_of(bad)
    assert (record.repaint, record.mark_state, record.questions) == (
        ["mark", "masses"],
        "as-painted",
        [],
    )


def test_correction_of_something_else_leaves_open_questions_open() -> None:
    model, bad = Model(), bad_digit(MARK)
    model.tell("gate-in", mark=bad, masses=OFF, at=700, received=600)
    before = asked(model, bad)
    assert len(before) == 3
    assert correct(model, "gate-in", {"slot": "B2"}).outcome == "recorded"
    assert asked(model, bad) == before
    assert model.unit_of(bad).slot == "B2"


def test_mark_in_question_is_not_settled_by_confirming_the_report() -> None:
    model, bad = Model(), bad_digit(MARK)
    model.tell("gate-in", mark=bad)
    receipt = answer(model, "mark.check-digit", bad, settlement="confirmed")
    assert [one["id"] for one in receipt.findings] == ["answer.value-missing"]


def test_right_mark_of_a_new_unit_renames_it_and_both_marks_mean_it() -> None:
    model, bad = Model(), bad_digit(MARK)
    model.tell("gate-in", mark=bad)
    answer(model, "mark.check-digit", bad, right_mark=MARK)
    record = model.unit_of(MARK)
    assert [borne.mark for borne in record.marks] == [MARK]
    assert (record.mark_state, record.questions) == ("good", [])
    assert model.meaning[bad] == model.meaning[MARK]


@pytest.mark.parametrize("arrived", [-30, 30])
def test_joined_units_are_as_if_all_had_been_reported_of_one(arrived: int) -> None:
    split, whole = Model(), Model()
    for model in (split, whole):
        mark = bad_digit(MARK) if model is split else MARK
        model.tell("pre-advice", mark=MARK, at=0, size_type="22G1")
        model.tell("gate-in", mark=mark, at=arrived, slot="A1", masses=SUM_MASSES)
        model.tell("restow", mark=mark, at=arrived + 5, slot="B2")
    answer(split, "mark.check-digit", bad_digit(MARK), right_mark=MARK)
    assert plain(split.unit_of(MARK)) == plain(whole.unit_of(MARK))
    assert split.meaning[bad_digit(MARK)] == split.meaning[MARK]


def test_box_seen_under_its_new_mark_before_the_re_marking_came_is_joined_with_both_marks() -> None:
    model = Model()
    model.tell("gate-in", mark=MARK)
    model.tell("inspection", mark=OTHER, at=60)
    model.tell("marking", mark=MARK, action="re-marked", new_mark=OTHER, at=30)
    answer(model, "mark.taken", right_mark=OTHER)
    record = model.unit_of(OTHER)
    assert model.meaning[MARK] == model.meaning[OTHER]
    assert [borne.mark for borne in record.marks] == [MARK, OTHER]
    assert record.presence == "in-depot"


def test_two_sales_that_come_to_light_when_units_are_joined_are_asked_about() -> None:
    model = Model()
    model.tell("gate-in", mark=None, tag="7")
    model.tell("sale", mark=None, tag="7", buyer="Ada Quill")
    model.tell("pre-advice", mark=MARK)
    model.tell("sale", mark=MARK, buyer="Orin Vale")
    receipt = model.tell("inspection", mark=MARK, tag="7", at=1)
    (question,) = model.record(str(receipt.unit)).questions
    settle(model, question.id, right_mark=MARK)
    assert "sale.sold-twice" in asked(model, MARK)


def test_joined_unit_read_by_its_old_mark_is_not_renamed() -> None:
    model = Model()
    model.tell("gate-in", mark=None, tag="7")
    model.tell("gate-in", mark=MARK)
    receipt = model.tell("inspection", mark=MARK, tag="7", at=1)
    (taken,) = [one for one in model.record(str(receipt.unit)).questions if one.field == "mark"]
    settle(model, taken.id, right_mark=MARK)
    model.tell("sighting", mark=OTHER, tag="7", at=2)
    assert model.unit_of(MARK).mark == MARK
    assert "mark.differs" in asked(model, MARK)


def test_correction_of_the_mark_gives_the_event_to_a_new_or_a_known_unit() -> None:
    for known in (True, False):
        model = Model()
        model.tell("gate-in", mark=MARK)
        model.tell("restow", mark=MARK, at=5, slot="B2")
        if known:
            model.tell("gate-in", mark=OTHER)
        assert correct(model, "restow", {"mark": OTHER}).outcome == "recorded"
        assert (model.unit_of(MARK).slot, model.unit_of(OTHER).slot) == (None, "B2")
        assert model.unit_of(OTHER).mark == OTHER
        again = correct(model, "restow", {"mark": MARK})
        assert (again.outcome, model.unit_of(MARK).slot) == ("recorded", "B2")


@pytest.mark.parametrize(
    ("kind", "changes", "finding"),
    [
        ("gate-in", {"purpose": "purchase"}, "correction.nothing-changed"),
        ("gate-in", {}, "correction.nothing-changed"),
        ("gate-in", {"slot": "no slot"}, "correction.unreadable"),
        ("gate-in", {"mark": None}, "correction.unreadable"),
        ("gate-in", {"masses": OFF}, "answer.still-doubtful"),
        ("gate-in", {"mark": bad_digit(OTHER)}, "answer.still-doubtful"),
        ("sale", {"mark": OTHER}, "correction.decision-stays"),
        ("marking", {"mark": OTHER}, "correction.new-mark-stays"),
        ("marking", {"new_mark": OTHER}, "correction.new-mark-stays"),
    ],
)
def test_correction_that_cannot_be_granted_is_refused(
    kind: str, changes: dict[str, Any], finding: str
) -> None:
    model = Model()
    model.tell("gate-in", purpose="purchase")
    model.tell("sale")
    model.tell("marking", action="re-marked", new_mark=make_mark(2), at=1)
    receipt = correct(model, kind, changes)
    assert (receipt.outcome, [one["id"] for one in receipt.findings]) == ("refused", [finding])


def test_what_is_not_there_is_neither_answered_nor_corrected() -> None:
    model = Model()
    model.tell("gate-in", masses=OFF)
    question = asked(model, MARK)["mass.sum"]
    assert model.tell("answer").outcome == "refused"
    assert model.tell("correction").outcome == "refused"
    model.tell("answer", question=question, masses=SUM_MASSES, settlement="value")
    again = model.tell("answer", question=question, masses=SUM_MASSES, settlement="value")
    assert [one["id"] for one in again.findings] == ["answer.no-open-question"]
    assert model.tell("correction", corrects=only_id("answer", model)).outcome == "refused"


@pytest.mark.parametrize(
    ("said", "event", "finding", "field"),
    [
        ({"masses": OFF}, "gate-in", "mass.sum", "masses"),
        ({"at": 900, "received": 600}, "sighting", "event.happened-in-future", "at"),
        ({"mark": bad_digit(MARK)}, "gate-in", "mark.check-digit", "right_mark"),
    ],
)
def test_answer_without_the_value_says_which_field_to_give(
    said: dict[str, Any], event: str, finding: str, field: str
) -> None:
    model = Model()
    model.tell(event, **said)
    receipt = answer(model, finding, said.get("mark", MARK), settlement="value")
    (refused,) = receipt.findings
    assert (refused["id"], refused["expected"]) == ("answer.value-missing", field)
