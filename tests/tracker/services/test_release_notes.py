from typing import Final

from schemas.findings import Severity
from tracker.judge import catalogue, release_rules, sale, travel
from tracker.judge.rules import Rule
from tracker.papers.release_note import Condition
from tracker.services.release_notes import ASKED, conditions

UNPAID: Final = sale.UNPAID.finding("mark")
VOID: Final = travel.APPROVAL_VOID.finding("mark", seen="void", words="void")


def by_words(*found: object, use: str = "export", **how: frozenset[str]) -> dict[str, Condition]:
    return {one.says: one for one in conditions(found, use, **how)}  # type: ignore[arg-type]


def test_every_condition_is_met_where_nothing_was_found() -> None:
    answers = by_words()
    assert list(answers) == [asked.says for asked in ASKED]
    assert {(one.met, one.why) for one in answers.values()} == {(True, "")}


def test_what_is_asked_of_export_only_is_not_on_a_note_for_storage() -> None:
    gone = set(by_words()) - set(by_words(use="storage"))
    assert gone == {"Its plate pack is complete", "Examined to last the journey"}


def test_refusal_leaves_its_condition_unmet_and_no_other() -> None:
    answers = by_words(UNPAID)
    assert [one.says for one in answers.values() if not one.met] == [
        "It is paid, or sold on credit"
    ]
    assert answers["It is paid, or sold on credit"].why == UNPAID.message


def test_warning_is_told_with_a_condition_that_is_met() -> None:
    warning = VOID.model_copy(update={"severity": Severity.WARN})
    answer = by_words(warning)["Its safety approval stands"]
    assert (answer.met, answer.why) == (True, f"Warning: {VOID.message}")


def test_refusal_that_a_manager_let_pass_is_met_and_says_so() -> None:
    answers = by_words(UNPAID, VOID, let_pass=frozenset({UNPAID.message}))
    assert answers["It is paid, or sold on credit"].met
    assert answers["It is paid, or sold on credit"].why.startswith("A manager let pass: ")
    assert not answers["Its safety approval stands"].met


def test_refusal_that_no_condition_names_has_a_line_of_its_own() -> None:
    strange = sale.WRONG_HAULIER.finding("haulier", seen="A", expected="B")
    assert not by_words(strange)["Wrong haulier"].met


def test_conditions_name_rules_of_the_judge_each_once() -> None:
    named: list[Rule] = [rule for asked in ASKED for rule in asked.rules]
    assert len({rule.id for rule in named}) == len(named)
    assert {rule.id for rule in named} <= {rule.id for rule in catalogue.RULES}
    papers = {release_rules.PACK_INCOMPLETE, release_rules.CUSTOMS_UNKNOWN}
    assert papers <= set(named)
