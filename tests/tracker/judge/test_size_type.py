"""The findings of the family `size`: one situation each, with what is adopted."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.findings import Finding, Severity
from shared.table_files import Certainty
from tracker.judge.size_type import RULES, judge_size_type

VENTED = {"vents_counted": 2}


def found_in(text: str, **seen: Any) -> dict[str, Finding]:  # noqa: ANN401 - passed on as is
    return {finding.id: finding for finding in judge_size_type(text, **seen).findings}


def test_rules_have_one_family_and_no_id_twice() -> None:
    ids = [rule.id for rule in RULES]
    assert len(set(ids)) == len(ids) == 14
    assert {rule_id.partition(".")[0] for rule_id in ids} == {"size"}


def test_judge_good_code_finds_nothing_and_adopts_it() -> None:
    judged = judge_size_type(" 22g1 ", vents_counted=4)
    assert judged.findings == []
    assert judged.normalised == "22G1"
    assert judged.decoded["length"] == "20 ft"


def test_judge_unreadable_text_is_doubted_and_not_adopted() -> None:
    judged = judge_size_type("22G")
    (finding,) = judged.findings
    assert (finding.id, finding.severity) == ("size.unreadable", Severity.DOUBT)
    assert finding.field == "size_type"
    assert judged.normalised is None
    assert judged.size_type is None
    assert judged.decoded == {"code": "22G"}


def test_judge_unreadable_text_names_codes_that_look_like_it() -> None:
    finding = found_in("2ZIO")["size.unassigned"]
    assert finding.expected == []
    finding = found_in("2 2 1 O")["size.unreadable"]
    assert finding.expected == ["2210"]
    assert finding.message.endswith("Codes that look like it: 2210.")


@pytest.mark.parametrize("code", ["52G1", "23G1", "22G5", "22GI", "22W1", "22GX"])
def test_judge_code_known_to_be_unassigned_is_doubted(code: str) -> None:
    judged = judge_size_type(code)
    assert [(f.id, f.severity) for f in judged.findings] == [("size.unassigned", Severity.DOUBT)]
    assert judged.normalised is None
    assert code in judged.findings[0].message


@pytest.mark.parametrize("code", ["22K2", "22P9", "22B7", "9510"])
def test_judge_code_in_no_table_warns_and_is_kept_as_painted(code: str) -> None:
    judged = judge_size_type(code)
    assert [(f.id, f.severity) for f in judged.findings] == [("size.unlisted", Severity.WARN)]
    assert judged.normalised == code
    assert judged.size_type is None


def test_judge_type_letter_known_from_memory_says_what_it_is_said_to_hold() -> None:
    assert "said to hold tanks" in found_in("22K2")["size.unlisted"].message


def test_judge_code_in_no_table_still_tells_length_and_height() -> None:
    assert judge_size_type("45k2").decoded["height"] == "9 ft 6 in"


def test_judge_old_code_stays_old_and_says_what_is_lost() -> None:
    judged = judge_size_type("4510")
    finding = found_in("4510")["size.old-code"]
    assert judged.normalised == "4510"
    assert (finding.severity, finding.expected) == (Severity.WARN, "45G1")
    for words in ("40 ft", "over 8 ft 6 in", "with a gooseneck tunnel", "does not tell", "measure"):
        assert words in finding.message
    assert "memory" not in finding.message


def test_judge_old_code_from_memory_or_without_a_like_says_so() -> None:
    message = found_in("2676")["size.old-code"].message
    assert "No code of today is near it." in message
    assert "from memory" in message
    assert found_in("2676")["size.old-code"].expected is None


def test_judge_old_code_that_loses_nothing_names_no_loss() -> None:
    assert "Lost" not in found_in("2210")["size.old-code"].message


@pytest.mark.parametrize(("code", "detail"), [("22TD", "T2"), ("22TG", "T3")])
def test_judge_td_and_tg_asks_and_guesses_nothing(code: str, detail: str) -> None:
    judged = judge_size_type(code)
    (finding,) = judged.findings
    assert (finding.id, finding.severity) == ("size.ambiguous", Severity.WARN)
    assert isinstance(finding.expected, list)
    assert len(finding.expected) == 2
    assert finding.expected[0].startswith(f"group {code[2:]}")
    assert finding.expected[1].startswith(detail)
    assert finding.message.endswith("Which is it?")
    assert judged.normalised == code


def test_judge_group_code_is_noted() -> None:
    finding = found_in("22GP")["size.group-code"]
    assert finding.severity is Severity.NOTE
    assert "general purpose" in finding.message


def test_judge_reduced_strength_names_the_full_strength_code() -> None:
    found = found_in("22GB", **VENTED)
    assert set(found) == {"size.reduced-strength"}
    assert found["size.reduced-strength"].expected == "22G1"
    assert found["size.reduced-strength"].severity is Severity.WARN


def test_judge_reduced_letter_from_memory_also_says_that_it_is_unconfirmed() -> None:
    assert set(found_in("22UA")) == {"size.reduced-strength", "size.unconfirmed-meaning"}


@pytest.mark.parametrize("code", ["25U6", "22RC"])
def test_judge_meaning_from_memory_or_practice_warns(code: str) -> None:
    assert found_in(code)["size.unconfirmed-meaning"].severity is Severity.WARN


@pytest.mark.parametrize("digit", "34568")
def test_judge_b3_to_b9_asks_when_it_was_painted(digit: str) -> None:
    finding = found_in(f"22B{digit}")["size.edition-changed-meaning"]
    assert finding.severity is Severity.WARN
    assert finding.message.endswith("When was it painted?")


def test_judge_b3_tells_both_meanings_and_b6_that_one_is_not_known() -> None:
    both = str(found_in("22B3")["size.edition-changed-meaning"].expected)
    assert "horizontal discharge" in both
    assert "rear discharge" in both
    assert "not known" not in both
    assert "not known" in str(found_in("22B6")["size.edition-changed-meaning"].expected)


@pytest.mark.parametrize("code", ["22B0", "22BG", "22T3"])
def test_judge_codes_that_kept_their_meaning_are_not_asked(code: str) -> None:
    assert "size.edition-changed-meaning" not in found_in(code)


@pytest.mark.parametrize("code", ["45G1", "24G1", "46G1", "4EG1", "4510", "4400"])
def test_judge_high_box_notes_the_height_marks(code: str) -> None:
    finding = found_in(code)["size.high-box-marks"]
    assert finding.severity is Severity.NOTE
    assert str(finding.seen) in finding.message


@pytest.mark.parametrize("code", ["22G1", "20G1", "28G1", "29P0", "2CG1", "2210", "4810"])
def test_judge_box_of_8_ft_6_in_or_less_needs_no_marks(code: str) -> None:
    assert "size.high-box-marks" not in found_in(code)
    assert "size.height-marks-missing" not in found_in(code, height_marks_seen=False)


def test_judge_high_box_with_marks_seen_is_quiet_and_without_warns() -> None:
    assert found_in("45G1", height_marks_seen=True) == {}
    found = found_in("45G1", height_marks_seen=False)
    assert set(found) == {"size.height-marks-missing"}
    assert found["size.height-marks-missing"].severity is Severity.WARN


@pytest.mark.parametrize(
    ("code", "counted"),
    [("22G1", 0), ("22GB", 0), ("22V0", 0), ("22G0", 1), ("2210", 0), ("2200", 2)],
)
def test_judge_vents_that_disagree_with_the_code_warn(code: str, counted: int) -> None:
    finding = found_in(code, vents_counted=counted)["size.vents-disagree"]
    assert (finding.severity, finding.seen) == (Severity.WARN, counted)


@pytest.mark.parametrize(
    ("code", "counted"),
    [
        ("22G1", 1),
        ("22V0", 8),
        ("22G0", 0),
        ("22G2", 0),
        ("22G2", 4),
        ("22V2", 0),
        ("22GP", 0),
        ("22GP", 4),
        ("22TD", 0),
        ("2210", 2),
        ("2230", 4),
    ],
)
def test_judge_vents_that_agree_or_are_not_promised_are_quiet(code: str, counted: int) -> None:
    assert "size.vents-disagree" not in found_in(code, vents_counted=counted)


@pytest.mark.parametrize(
    ("code", "door_mm", "disagrees"),
    [
        ("22G1", 2280, False),
        ("22G1", 2236, False),
        ("22G1", 2235, True),
        ("22G1", 2540, False),
        ("22G1", 2541, True),
        ("45G1", 2580, False),
        ("45G1", 2280, True),
        ("20G1", 2235, False),
        ("20G1", 2236, True),
        ("45GP", 2280, True),
        ("45V0", 2280, True),
        ("45U1", 2280, False),
        ("24G1", 2280, False),
        ("28G1", 1000, False),
        ("45B3", 2280, False),
        ("4510", 2280, False),
    ],
)
def test_judge_door_height_belongs_to_the_height_of_the_code(
    code: str, door_mm: int, disagrees: bool
) -> None:
    found = found_in(code, door_height_mm=door_mm)
    assert ("size.door-height-disagrees" in found) is disagrees


@pytest.mark.parametrize(
    ("code", "length_mm", "disagrees"),
    [
        ("22G1", 6058, False),
        ("22G1", 6108, False),
        ("22G1", 6109, True),
        ("22G1", 6008, False),
        ("22G1", 6007, True),
        ("22G1", 12192, True),
        ("2210", 6058, False),
        ("2210", 2991, True),
    ],
)
def test_judge_measured_length_belongs_to_the_code(
    code: str, length_mm: int, disagrees: bool
) -> None:
    assert ("size.length-disagrees" in found_in(code, length_mm=length_mm)) is disagrees


def test_judge_measured_length_names_the_codes_that_tell_it() -> None:
    found = found_in("22G1", length_mm=12190)["size.length-disagrees"]
    assert found.seen == "12190 mm (length code 4)"
    assert found.expected == "6058 mm (20 ft)"
    assert "C or D)" in found_in("A2G1", length_mm=7440)["size.length-disagrees"].message
    assert found_in("A2G1", length_mm=9999)["size.length-disagrees"].expected == "7150 mm"
    assert found_in("2210", length_mm=4000)["size.length-disagrees"].seen == "4000 mm"


def test_judge_observations_of_a_code_without_meaning_change_nothing() -> None:
    judged = judge_size_type("22K2", vents_counted=0, height_marks_seen=False, length_mm=1)
    assert [finding.id for finding in judged.findings] == ["size.unlisted"]


def test_judge_twice_gives_lists_of_the_callers_own() -> None:
    first = judge_size_type("45G1")
    first.findings.clear()
    first.decoded["code"] = "spoiled"
    assert [f.id for f in judge_size_type("45G1").findings] == ["size.high-box-marks"]
    assert judge_size_type("45G1").decoded["code"] == "45G1"


@given(
    st.text(alphabet="0123456789ABDGKTUVX", min_size=3, max_size=5),
    st.one_of(st.none(), st.integers(0, 20)),
)
@settings(max_examples=300, derandomize=True, deadline=None)
def test_judge_any_text_gives_known_findings_and_plain_values(text: str, vents: int | None) -> None:
    judged = judge_size_type(text, vents_counted=vents)
    rules = {rule.id: rule for rule in RULES}
    for finding in judged.findings:
        assert finding.severity is rules[finding.id].severity
        assert "{" not in finding.message
    doubted = any(finding.severity is Severity.DOUBT for finding in judged.findings)
    assert (judged.normalised is None) is doubted
    assert json.loads(json.dumps(judged.decoded)) == judged.decoded


def test_rules_from_memory_only_warn() -> None:
    unsure = [rule for rule in RULES if rule.certainty in (Certainty.MEMORY, Certainty.PRACTICE)]
    assert {rule.id for rule in unsure} == {"size.unlisted", "size.unconfirmed-meaning"}
    assert {rule.severity for rule in unsure} == {Severity.WARN}
