from __future__ import annotations

from collections.abc import Collection

import pytest

from schemas.findings import Severity
from shared.marks import find_compact
from shared.misreads import KnownMarkSets, Standing
from tracker.judge import identity
from tracker.judge.identity import judge_mark

NOTHING = KnownMarkSets()
DEPOT = KnownMarkSets.of(["CSQU3054383", "ZZZU1234564"])


def ids(as_read: str, known: KnownMarkSets = DEPOT) -> list[str]:
    return [finding.id for finding in judge_mark(as_read, known).findings]


@pytest.mark.parametrize("text", ["CSQU3054383", "csqu 305438 [3]"])
def test_good_mark_is_adopted_without_findings(text: str) -> None:
    judgement = judge_mark(text, DEPOT)
    assert judgement.findings == []
    assert judgement.mark == "CSQU3054383"
    assert judgement.suggestions == ()
    assert judgement.decoded == {
        "owner": "CSQ",
        "category": "U",
        "category_means": "freight container",
        "serial": "305438",
        "check_digit": "3",
    }


def test_good_mark_asks_the_depot_for_no_candidates() -> None:
    class Refusing(KnownMarkSets):
        def which_exist(self, candidates: Collection[str]) -> dict[str, Standing]:
            raise AssertionError

    assert judge_mark("CSQU3054383", Refusing(owner_codes=frozenset({"CSQ"}))).findings == []


def test_misshapen_mark_is_doubted_with_the_place_and_suggestions() -> None:
    judgement = judge_mark("CSQU3O54383", DEPOT)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.shape", Severity.DOUBT)
    assert (finding.field, finding.seen) == ("mark", "CSQU3O54383")
    assert finding.message == (
        "'CSQU3O54383' is no mark: the letter O stands at place 6, where a digit belongs."
    )
    assert (judgement.mark, judgement.decoded) == (None, {})
    assert judgement.suggestions[0].mark == "CSQU3054383"
    assert judgement.suggestions[0].standing is Standing.KNOWN


def test_wrong_digit_is_doubted_with_both_digits() -> None:
    judgement = judge_mark("CSQU 305488 3", DEPOT)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.check-digit", Severity.DOUBT)
    assert (finding.seen, finding.expected) == (3, 7)
    assert "reads 3, but 7 belongs" in finding.message
    assert "ISO 6346 Annex A (read)" in finding.source
    assert judgement.mark is None
    assert judgement.decoded["serial"] == "305488"
    assert judgement.suggestions[0].mark == "CSQU3054383"


def test_missing_digit_warns_and_the_whole_mark_is_adopted() -> None:
    judgement = judge_mark("CSQU 305438", DEPOT)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.check-digit-missing", Severity.WARN)
    assert finding.expected == 3
    assert judgement.mark == "CSQU3054383"
    assert judgement.decoded["check_digit"] is None
    assert judgement.suggestions == ()


def test_missing_digit_of_a_new_mark_suggests_known_marks_one_character_longer() -> None:
    judgement = judge_mark("CSQU305483", DEPOT)
    assert judgement.mark == "CSQU3054830"
    assert [one.mark for one in judgement.suggestions] == ["CSQU3054383"]


def test_remainder_ten_is_noted_and_the_mark_adopted() -> None:
    judgement = judge_mark("TASU 117000 0", NOTHING)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.remainder-ten", Severity.NOTE)
    assert (finding.seen, finding.expected) == (10, 0)
    assert judgement.mark == "TASU1170000"


def test_remainder_zero_is_not_noted() -> None:
    assert ids("ABCU 123456 0", NOTHING) == []


def test_unknown_category_letter_is_doubted() -> None:
    judgement = judge_mark("CSQR 305438 1", DEPOT)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.category-letter", Severity.DOUBT)
    assert (finding.seen, finding.expected) == ("R", ["U", "J", "Z"])
    assert judgement.mark is None
    assert judgement.decoded["category_means"] is None


@pytest.mark.parametrize("letter", list("JZ"))
def test_other_category_letters_of_the_standard_raise_nothing(letter: str) -> None:
    digit = judge_mark(f"ZZZ{letter}123456", DEPOT).findings[0].expected
    assert ids(f"ZZZ{letter}123456{digit}") == []


@pytest.mark.parametrize("letter", list("ABDEK"))
def test_letters_of_the_other_scheme_are_named(letter: str) -> None:
    judgement = judge_mark(f"ZZZ{letter}123456", DEPOT)
    finding = judgement.findings[-1]
    assert (finding.id, finding.severity) == ("mark.other-scheme", Severity.DOUBT)
    assert (finding.seen, finding.expected) == (letter, ["U", "J", "Z"])
    assert "swap body" in finding.message
    assert "EN 13044" in finding.message
    assert judgement.mark is None


def test_category_and_digit_are_both_doubted() -> None:
    assert ids("CSQR3054383") == ["mark.check-digit", "mark.category-letter"]


def test_wrong_category_without_digit_is_doubted_though_the_digit_only_warns() -> None:
    judgement = judge_mark("CSQR305438", DEPOT)
    found = {finding.id: finding.severity for finding in judgement.findings}
    assert found == {
        "mark.check-digit-missing": Severity.WARN,
        "mark.category-letter": Severity.DOUBT,
    }
    assert judgement.mark is None


def test_new_owner_code_of_equal_residue_warns_and_suggests_the_known_one() -> None:
    judgement = judge_mark("CSGU3054383", DEPOT)
    (finding,) = judgement.findings
    assert (finding.id, finding.severity) == ("mark.owner-code-look-alike", Severity.WARN)
    assert (finding.seen, finding.expected) == ("CSG", ["CSQ"])
    assert "one letter away from CSQ" in finding.message
    assert judgement.mark == "CSGU3054383"
    assert [one.mark for one in judgement.suggestions] == ["CSQU3054383"]


def test_new_owner_code_without_a_similar_one_is_adopted_silently() -> None:
    judgement = judge_mark("HQXU1234560", DEPOT)
    assert "mark.owner-code-look-alike" not in [finding.id for finding in judgement.findings]


def test_known_owner_code_beside_a_similar_one_is_not_warned_about() -> None:
    assert ids("CSGU3054383", KnownMarkSets(owner_codes=frozenset({"CSG", "CSQ"}))) == []


@pytest.mark.parametrize(
    "text", ["CSQU3054383", "CSQU 305438", "CSQR3054383", "hello", "", "CSQA3054383", "TASU1170000"]
)
def test_mark_is_adopted_exactly_when_nothing_is_doubted(text: str) -> None:
    judgement = judge_mark(text, DEPOT)
    doubted = any(finding.severity is Severity.DOUBT for finding in judgement.findings)
    assert (judgement.mark is None) is doubted
    assert bool(judgement.decoded) is (find_compact(text) is not None)


def test_every_rule_is_of_the_family_and_stands_once() -> None:
    names = [rule.id for rule in identity.RULES]
    assert len(set(names)) == len(names) == 7
    assert all(name.startswith("mark.") for name in names)
    assert all(rule.means.endswith(".") for rule in identity.RULES)
