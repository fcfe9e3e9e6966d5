"""The family `inspection`: each rule fires where it should, and a good report finds nothing."""

from datetime import UTC, timedelta
from zoneinfo import ZoneInfo

import pytest

from schemas.findings import Severity
from schemas.records import OpenDamage, Record
from shared.cautions import ENTERING
from shared.table_files import Certainty
from tests.support.events import START, make_record
from tests.support.inspections import (
    AIRED,
    LIGHT,
    PHOTO,
    PLATE_READ,
    all_good,
    found_in,
    judged,
    make_inspection,
)
from tracker.judge import damage_rules, gas, inspection_rules
from tracker.judge.facts import judge_fact
from tracker.judge.inspection import judge_inspection
from tracker.judge.judgement import Judgement, Rulebook

BOX = {"size_type": "22G1", "provenance": "used"}


def ids(record: Record | None = None, **said: object) -> set[str]:
    return set(found_in(judged(make_inspection(**said), record or make_record(**BOX))))


def test_good_and_full_inspection_finds_nothing() -> None:
    record = make_record(**BOX, approval="approved")
    judgement = judged(all_good(record, condition="cargo-worthy", marks_in_place=True), record)
    assert judgement.findings == []
    assert judgement.resolved == {}
    assert judgement.doubted == []


def test_rules_of_three_families_weigh_no_more_than_their_certainty() -> None:
    rules = (*inspection_rules.RULES, *gas.RULES, *damage_rules.RULES)
    assert len({rule.id for rule in rules}) == len(rules)
    breaches = [rule.id for rule in rules if rule.severity is Severity.BREACH]
    assert breaches == ["inspection.entered-before-air"]
    assert not [rule.id for rule in rules if rule.severity in (Severity.DOUBT, Severity.REFUSE)]


def test_facts_judge_an_inspection_beside_its_readings() -> None:
    event = make_inspection(plate=None, masses={"gross_kg": 1, "tare_kg": 2, "payload_kg": 3})
    found = {finding.id for finding in judge_fact(event, make_record(), START, Rulebook()).findings}
    assert {"inspection.plate-not-read", "mass.tare-above-gross"} <= found


@pytest.mark.parametrize(
    ("known", "said", "fires"),
    [
        ({}, {"plate": None}, True),
        ({"approval": "void"}, {"plate": None}, True),
        ({"plate": PLATE_READ}, {"plate": None}, False),
        ({"approval": "none"}, {"plate": None}, False),
        ({}, {"plate": {"no_plate": True, "seen_by": "Ada Quill"}}, False),
        ({}, {}, False),
    ],
)
def test_plate_that_nobody_read_is_asked_for_until_it_is_read_or_said_not_to_be(
    known: dict[str, object], said: dict[str, object], fires: bool
) -> None:
    found = ids(make_record(**known), **said)
    assert ("inspection.plate-not-read" in found) is fires


@pytest.mark.parametrize(
    ("plate", "fires"),
    [
        ({"gross_kg": 30480}, True),
        ({"gross_kg": 30480, "photo": PHOTO}, False),
        ({"no_plate": True}, False),
    ],
)
def test_plate_read_without_its_photo_warns(plate: dict[str, object], fires: bool) -> None:
    assert ("inspection.plate-without-photo" in ids(plate=plate)) is fires


@pytest.mark.parametrize(
    ("second", "fires"), [(None, True), ("Ada Quill", True), ("Orin Vale", False)]
)
def test_light_test_needs_a_second_person(second: str | None, fires: bool) -> None:
    test = LIGHT | {"second_person": second}
    found = found_in(judged(make_inspection(light_test=test, gas=AIRED), make_record()))
    assert ("inspection.light-test-alone" in found) is fires
    if fires:
        assert found["inspection.light-test-alone"].severity is Severity.WARN
        assert ENTERING in found["inspection.light-test-alone"].message


def test_light_test_of_two_nameless_people_counts_as_alone() -> None:
    assert "inspection.light-test-alone" in ids(light_test={"daylight_seen": False}, gas=AIRED)


def test_daylight_without_a_damage_asks_where() -> None:
    seen = LIGHT | {"daylight_seen": True}
    hole = {"component": "roof-panel", "kind": "holed"}
    assert "inspection.daylight-without-damage" in ids(light_test=seen, gas=AIRED)
    assert "inspection.daylight-without-damage" not in ids(
        light_test=seen, gas=AIRED, damages=[hole]
    )
    assert "inspection.daylight-without-damage" not in ids(light_test=LIGHT, gas=AIRED)


@pytest.mark.parametrize(("in_place", "fires"), [(None, False), (True, False), (False, True)])
def test_marks_out_of_place_warn(in_place: bool | None, fires: bool) -> None:
    assert ("inspection.marks-not-in-place" in ids(marks_in_place=in_place)) is fires


@pytest.mark.parametrize("found", ["damaged", "missing"])
def test_damaged_item_without_a_damage_asks_what_is_wrong(found: str) -> None:
    answers = {"gaskets": {"found": found}, "roof": {"found": "good"}}
    said = found_in(judged(make_inspection(answers=answers), make_record()))
    assert said["inspection.damaged-without-damage"].seen == "gaskets"
    torn = {"component": "door-gasket", "kind": "cut"}
    assert "inspection.damaged-without-damage" not in ids(answers=answers, damages=[torn])


@pytest.mark.parametrize("found", ["good", "not-there", "not-looked-at"])
def test_item_that_is_not_damaged_asks_nothing(found: str) -> None:
    assert ids(answers={"gaskets": {"found": found}}) == set()


def test_item_that_no_checklist_has_warns_and_the_others_are_judged() -> None:
    answers = {"sun-roof": {"found": "good"}, "locking-bars": {"found": "good", "count": 3}}
    found = found_in(judged(make_inspection(answers=answers), make_record()))
    assert found["inspection.item-unknown"].seen == "sun-roof"
    assert "inspection.expectation-unusual" in found


@pytest.mark.parametrize(
    ("known", "item", "count", "unusual"),
    [
        ({}, "locking-bars", 4, False),
        ({}, "locking-bars", 2, True),
        ({"size_type": "22G1"}, "fork-pockets", 2, False),
        ({"size_type": "42G1"}, "fork-pockets", 2, True),
        ({"size_type": "42G1"}, "fork-pockets", 0, False),
        ({}, "small-vents", 16, False),
        ({}, "small-vents", 9, True),
        ({"provenance": "one-trip"}, "lock-box", 0, True),
        ({"provenance": "used"}, "lock-box", 1, False),
        ({"provenance": "refurbished"}, "lock-box", 2, True),
        ({"size_type": "L5G1"}, "fork-pockets", 7, False),
    ],
)
def test_count_that_is_neither_usual_nor_a_variant_is_noted(
    known: dict[str, object], item: str, count: int, unusual: bool
) -> None:
    answers = {item: {"found": "good", "count": count}}
    found = found_in(judged(make_inspection(answers=answers), make_record(**known)))
    assert ("inspection.expectation-unusual" in found) is unusual
    if unusual:
        note = found["inspection.expectation-unusual"]
        assert (note.severity, note.field, note.seen) == (Severity.NOTE, f"answers.{item}", count)
        assert f"({Certainty.PRACTICE.value})" in note.source


def test_size_read_in_the_same_report_decides_what_is_expected() -> None:
    answers = {"fork-pockets": {"found": "good", "count": 2}}
    unusual = "inspection.expectation-unusual"
    assert unusual in ids(make_record(size_type="22G1"), size_type="42G1", answers=answers)
    assert unusual not in ids(make_record(size_type="42G1"), size_type="22G1", answers=answers)


def test_vents_counted_are_expected_too_and_said_once() -> None:
    assert "inspection.expectation-unusual" in ids(vents_counted=9)
    assert "inspection.expectation-unusual" not in ids(vents_counted=4)
    both = judged(
        make_inspection(vents_counted=9, answers={"small-vents": {"found": "good", "count": 9}}),
        make_record(),
    )
    assert [finding.field for finding in both.findings] == ["answers.small-vents"]


HOLE = {"component": "roof-panel", "kind": "holed"}


@pytest.mark.parametrize(
    ("decided", "differs"), [("as-is", False), ("wind-and-watertight", True), ("scrap", True)]
)
def test_condition_unlike_the_proposal_is_noted_with_reasons(decided: str, differs: bool) -> None:
    found = found_in(judged(make_inspection(condition=decided, damages=[HOLE]), make_record()))
    assert ("inspection.condition-differs-from-proposal" in found) is differs
    if differs:
        note = found["inspection.condition-differs-from-proposal"]
        assert (note.severity, note.seen, note.expected) == (Severity.NOTE, decided, "as-is")
        assert "roof panel is holed" in note.message


def test_condition_is_not_set_against_a_look_that_tells_nothing() -> None:
    assert ids(condition="cargo-worthy") == set()
    assert "inspection.condition-differs-from-proposal" not in ids(
        condition="cargo-worthy", answers={"roof": {"found": "good"}}
    )


def test_cargo_worthy_with_a_deficiency_warns_also_of_one_found_before() -> None:
    bent = {"component": "top-rail", "kind": "bent", "measured_mm": 61}
    found = found_in(
        judged(make_inspection(condition="cargo-worthy", damages=[bent]), make_record())
    )
    warning = found["damage.cargo-worthy-with-deficiency"]
    assert warning.severity is Severity.WARN
    assert "deformation of 61 mm on the top rail" in warning.message
    before = OpenDamage("d", "top-rail", "bent", "soon", "", measured_mm=61)
    record = make_record(damages=[before])
    assert "damage.cargo-worthy-with-deficiency" in ids(record, condition="cargo-worthy")
    slight = [bent | {"measured_mm": 40}]
    assert "damage.cargo-worthy-with-deficiency" not in ids(
        condition="cargo-worthy", damages=slight
    )


@pytest.mark.parametrize(
    ("urgency", "mend_by"),
    [("before-release", None), ("soon", "2026-03-16"), ("when-convenient", "2026-05-31")],
)
def test_repair_is_due_by_its_urgency(urgency: str, mend_by: str | None) -> None:
    damages = [{"component": "floor", "kind": "worn", "urgency": urgency}]
    assert judged(make_inspection(damages=damages), make_record()).resolved["mend_by"] == [mend_by]


def test_day_named_by_the_inspector_stands_and_days_stand_by_damage() -> None:
    worn = {"component": "floor", "kind": "worn"}
    damages = [worn | {"mend_by": "2026-03-05"}, worn | {"urgency": "soon"}]
    resolved = judged(make_inspection(damages=damages), make_record()).resolved
    assert resolved["mend_by"] == ["2026-03-05", "2026-03-16"]
    assert resolved["notice_by"] == [None, None]


def test_days_are_reckoned_in_the_depots_zone_from_receipt_if_the_clock_ran_ahead() -> None:
    damages = [{"component": "floor", "kind": "worn", "urgency": "soon"}]
    rules = Rulebook(zones={"NORTH": ZoneInfo("Pacific/Auckland")})
    late = make_inspection(damages=damages, happened_at="2026-03-02T20:00:00Z")
    days = []
    for received in (late.happened_at, late.happened_at - timedelta(days=3)):
        judgement = Judgement()
        judge_inspection(judgement, late, make_record(), received.astimezone(UTC), rules)
        days.append(judgement.resolved["mend_by"])
    assert days == [["2026-03-17"], ["2026-03-14"]]


def test_inspection_without_anything_new_leaves_nothing_to_resolve() -> None:
    for gas_said in (None, {}):
        assert judged(make_inspection(gas=gas_said), make_record()).resolved == {}
