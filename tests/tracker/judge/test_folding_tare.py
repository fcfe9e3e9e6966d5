"""The tare after work: its sum, the paint that must follow, and the scales where steel was cut."""

from typing import Any

import pytest

from schemas.findings import Finding
from schemas.records import Record
from tests.support.events import SUM_MASSES, make_entry, make_record
from tests.support.model import Model
from tracker.judge.entry import Entry
from tracker.judge.fold import extend

VENTS = {"work": "louvre-vent", "count": 4, "mass_kg": 3}
LOCK_BOX = {"work": "lock-box", "mass_kg": 9}
CUTS = {"approval_effect": "ask", "cuts": True}


def told(record: Record, *entries: Entry) -> list[Finding]:
    return [finding for entry in entries for finding in extend(record, entry)]


def sums(record: Record, *fittings: dict[str, Any], **others: object) -> str:
    found = told(record, make_entry("modification", fittings=list(fittings), **others))
    return " ".join(one.message for one in found if one.id == "work.tare-recomputed")


def test_sum_of_the_tare_is_shown() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230)
    (found,) = told(record, make_entry("modification", fittings=[VENTS, LOCK_BOX]))
    assert found.message == (
        "Tare 2 230 kg + 4 x 3 kg + 1 x 9 kg = 2 251 kg; payload 30 480 - 2 251 = 28 229 kg. "
        "Paint both on the doors."
    )
    assert (found.id, found.seen, found.expected) == (
        "work.tare-recomputed",
        "2 230 kg",
        "2 251 kg",
    )
    assert (record.tare_kg, record.payload_kg, record.gross_kg) == (2251, 28229, 30480)
    assert record.repaint == ["masses"]


def test_sum_takes_off_what_was_cut_out_and_leaves_out_what_is_loose() -> None:
    ramp = {"work": "ramp", "mass_kg": 65, "permanent": False}
    said = sums(make_record(gross_kg=30480, tare_kg=2230), VENTS | {"cut_out_kg": 1}, ramp)
    assert said.startswith("Tare 2 230 kg + 4 x (3 kg - 1 kg) = 2 238 kg; payload")
    assert sums(make_record(gross_kg=30480, tare_kg=2230), ramp) == ""


def test_weighed_tare_is_told_beside_the_sum() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230)
    assert sums(record, VENTS, weighed_tare_kg=2249) == (
        "Tare weighed: 2 249 kg; by sums 2 230 kg + 4 x 3 kg; payload 30 480 - 2 249 = 28 231 kg. "
        "Paint both on the doors."
    )


def test_weighing_what_is_painted_asks_for_no_paint() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230, painted_tare_kg=2230, to_weigh=True)
    assert sums(record, weighed_tare_kg=2230) == (
        "Tare weighed: 2 230 kg; by sums 2 230 kg; payload 30 480 - 2 230 = 28 250 kg."
    )
    assert (record.repaint, record.to_weigh) == ([], False)


def test_unknown_masses_are_said_to_be_unknown() -> None:
    (found,) = told(make_record(), make_entry("modification", fittings=[VENTS]))
    assert (found.id, "4 x 3 kg was added" in found.message) == ("work.tare-unknown", True)
    assert sums(make_record(tare_kg=2230), VENTS) == (
        "Tare 2 230 kg + 4 x 3 kg = 2 242 kg; the gross mass is not known, so the payload is not "
        "either. Paint both on the doors."
    )


@pytest.mark.parametrize(("weighed", "adopted"), [(10159, 10159), (10160, 1270), (22500, 1270)])
def test_weight_that_leaves_nothing_to_load_is_asked_about_and_not_adopted(
    weighed: int, adopted: int
) -> None:
    record = make_record(gross_kg=10160, tare_kg=1270, painted_tare_kg=1270, to_weigh=True)
    told(record, make_entry("modification", fittings=[], weighed_tare_kg=weighed))
    is_asked = weighed != adopted
    asked = [(one.finding, one.field) for one in record.questions]
    assert asked == ([("work.nothing-left-to-load", "weighed_tare_kg")] if is_asked else [])
    assert (record.tare_kg, record.to_weigh) == (adopted, is_asked)
    assert record.repaint == ([] if is_asked else ["masses"])


def test_fittings_that_leave_nothing_to_load_are_asked_about_and_not_adopted() -> None:
    record = make_record(gross_kg=10160, tare_kg=1270)
    told(record, make_entry("modification", fittings=[LOCK_BOX | {"mass_kg": 22500}]))
    assert [one.field for one in record.questions] == ["fittings"]
    assert (record.tare_kg, record.repaint, record.fittings) == (1270, [], {"lock-box": 1})


def test_work_that_changes_no_mass_asks_nothing_of_a_box_whose_masses_are_odd_already() -> None:
    record = make_record(gross_kg=1200, tare_kg=1270)
    told(record, make_entry("modification", fittings=[LOCK_BOX | {"permanent": False}]))
    assert record.questions == []


@pytest.mark.parametrize(
    ("weighed", "far"),
    [(1397, False), (1398, True), (1142, True), (5200, True)],
)
def test_weight_far_from_the_sum_is_warned_of_and_adopted(weighed: int, *, far: bool) -> None:
    record = make_record(gross_kg=10160, tare_kg=1261)
    found = told(record, make_entry("modification", fittings=[LOCK_BOX], weighed_tare_kg=weighed))
    warned = [one for one in found if one.id == "work.weighed-far-from-sum"]
    assert [(one.severity, one.expected) for one in warned] == [("warn", "1 270 kg")] * far
    assert (record.tare_kg, record.questions) == (weighed, [])


def test_margin_of_a_heavy_box_is_a_tenth_of_its_sum() -> None:
    for weighed, far in ((4400, False), (4401, True), (3599, True)):
        record = make_record(gross_kg=30480, tare_kg=4000)
        found = told(record, make_entry("modification", fittings=[], weighed_tare_kg=weighed))
        assert ("work.weighed-far-from-sum" in [one.id for one in found]) is far


@pytest.mark.parametrize(
    ("answer", "tare_kg", "outcome"),
    [
        ({"settlement": "confirmed"}, 31000, "recorded"),
        ({"settlement": "value", "masses": {"tare_kg": 2260}}, 2260, "recorded"),
        ({"settlement": "value", "masses": {"tare_kg": 30480}}, 2230, "refused"),
        ({"settlement": "value"}, 2230, "refused"),
        ({"settlement": "withdrawn"}, 2230, "recorded"),
    ],
)
@pytest.mark.parametrize(
    "said", [{"weighed_tare_kg": 31000}, {"fittings": [LOCK_BOX | {"mass_kg": 28770}]}]
)
def test_question_about_the_weight_can_be_settled_each_way(
    said: dict[str, Any], answer: dict[str, Any], tare_kg: int, outcome: str
) -> None:
    model = Model()
    model.tell("gate-in", masses=SUM_MASSES)
    model.tell("modification", at=1, **{"fittings": [], **said})
    (unit,) = model.histories
    (question,) = model.record(unit).questions
    assert model.tell("answer", question=question.id, **answer).outcome == outcome
    record = model.record(unit)
    assert (record.tare_kg, len(record.questions)) == (tare_kg, outcome == "refused")


@pytest.mark.parametrize(("painted_kg", "asked"), [(2241, False), (2242, True), (2000, True)])
def test_paint_that_no_work_asked_for_is_asked_about_beyond_rounding(
    painted_kg: int, *, asked: bool
) -> None:
    record = make_record(gross_kg=30480, tare_kg=2230, painted_tare_kg=2230)
    told(record, make_entry("marking", action="repainted", masses={"tare_kg": painted_kg}))
    assert [one.finding for one in record.questions] == ["work.painted-tare-differs"] * asked
    assert (record.tare_kg, record.painted_tare_kg) == (2230 if asked else painted_kg, painted_kg)


def test_cut_shell_is_to_be_weighed_until_it_was() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230)
    told(record, make_entry("modification", fittings=[LOCK_BOX], resolved={"cuts": False}))
    assert record.to_weigh is False
    told(record, make_entry("modification", at=1, fittings=[VENTS], resolved=CUTS))
    assert record.to_weigh is True
    told(record, make_entry("modification", at=2, fittings=[LOCK_BOX]))
    assert record.to_weigh is True
    told(record, make_entry("modification", at=3, fittings=[], weighed_tare_kg=2251))
    assert (record.to_weigh, record.tare_kg) == (False, 2251)


@pytest.mark.parametrize(
    ("said", "resolved", "approval"),
    [("none", "ask", "ask"), ("void", "ask", "void"), ("ask", "void", "void")],
)
def test_stronger_of_told_and_resolved_lowers_the_approval(
    said: str, resolved: str, approval: str
) -> None:
    record = make_record(approval="approved")
    entry = make_entry("modification", approval_effect=said, resolved={"approval_effect": resolved})
    told(record, entry)
    assert record.approval == approval


@pytest.mark.parametrize(
    ("before", "after"),
    [("ask", "approved"), ("void", "void"), ("none", "none"), ("unknown", "unknown")],
)
def test_answer_of_the_approving_body_closes_what_was_asked(before: str, after: str) -> None:
    record = make_record(approval=before)
    told(
        record,
        make_entry("plate-change", action="confirmed", plate=None, approved_by="Quill Survey"),
    )
    assert record.approval == after


FITTED, PAINTED = "00000000-0000-0000-0000-0000000000a1", "00000000-0000-0000-0000-0000000000a2"


def painted(tare_kg: int) -> tuple[Model, str]:
    """Return a unit of 2 251 kg whose doors were painted anew with a tare."""
    model = Model()
    model.tell("gate-in", masses=SUM_MASSES)
    model.tell("modification", at=1, id=FITTED, fittings=[VENTS, LOCK_BOX])
    masses = {"tare_kg": tare_kg, "payload_kg": 30480 - tare_kg}
    model.tell("marking", at=2, id=PAINTED, masses=masses)
    (unit,) = model.histories
    return model, unit


def test_right_paint_closes_the_task() -> None:
    model, unit = painted(2251)
    record = model.record(unit)
    assert (record.repaint, record.painted_tare_kg, record.questions) == ([], 2251, [])


def test_wrong_paint_is_asked_about_and_the_task_stays() -> None:
    model, unit = painted(2241)
    record = model.record(unit)
    assert (record.tare_kg, record.painted_tare_kg, record.payload_kg) == (2251, 2241, 28229)
    assert record.repaint == ["masses"]
    (question,) = record.questions
    assert (question.finding, question.seen, question.expected) == (
        "work.painted-tare-differs",
        "2 241 kg",
        "2 251 kg",
    )


@pytest.mark.parametrize(
    ("answer", "tare_kg", "painted_kg", "left"),
    [
        ({"settlement": "confirmed"}, 2241, 2241, []),
        ({"settlement": "as-painted"}, 2251, 2241, ["masses"]),
        ({"settlement": "value", "masses": {"tare_kg": 2251, "payload_kg": 28229}}, 2251, 2251, []),
        ({"settlement": "withdrawn"}, 2251, 2230, ["masses"]),
    ],
)
def test_question_about_the_paint_can_be_settled_each_way(
    answer: dict[str, Any], tare_kg: int, painted_kg: int, left: list[str]
) -> None:
    model, unit = painted(2241)
    (question,) = model.record(unit).questions
    assert model.tell("answer", question=question.id, **answer).outcome == "recorded"
    record = model.record(unit)
    assert record.questions == []
    assert (record.tare_kg, record.painted_tare_kg, record.repaint) == (tare_kg, painted_kg, left)


def test_late_report_of_the_work_finds_its_paint_right() -> None:
    model = Model()
    model.tell("gate-in", masses=SUM_MASSES)
    model.tell("modification", at=5, fittings=[LOCK_BOX])
    model.tell("marking", at=3, masses={"tare_kg": 2242, "payload_kg": 28238})
    late = model.tell("modification", at=1, fittings=[VENTS])
    (unit,) = model.histories
    record = model.record(unit)
    assert (record.questions, record.tare_kg, record.repaint) == ([], 2251, ["masses"])
    (note,) = [one for one in late.findings if one["id"] == "work.tare-recomputed"]
    assert "2 230 kg + 4 x 3 kg = 2 242 kg" in note["message"]
