import pytest

from schemas.findings import Severity
from shared.table_files import Certainty
from tracker.judge.rules import Rule


def make_rule(
    rule_id: str = "mass.sum",
    severity: Severity = Severity.DOUBT,
    certainty: Certainty = Certainty.READ,
) -> Rule:
    return Rule(rule_id, severity, "It is {seen}, not {expected}: {why}.", "CSC", certainty, "M.")


@pytest.mark.parametrize("wrong", ["mass", "mass.", ".sum", "mass.sum.kg", "ma-ss.sum", "mass.a b"])
def test_id_out_of_its_grammar_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match="rule id"):
        make_rule(wrong)


@pytest.mark.parametrize("certainty", [Certainty.MEMORY, Certainty.PRACTICE])
@pytest.mark.parametrize("severity", Severity)
def test_rule_from_memory_or_practice_only_warns_or_notes(
    severity: Severity, certainty: Certainty
) -> None:
    if severity in (Severity.WARN, Severity.NOTE):
        assert make_rule(severity=severity, certainty=certainty).severity is severity
    else:
        with pytest.raises(ValueError, match="may only warn or note"):
            make_rule(severity=severity, certainty=certainty)


def test_finding_fills_the_sentence_and_names_the_source_with_its_certainty() -> None:
    found = make_rule().finding("masses", seen=1, expected=2, why="weighed")
    assert found.message == "It is 1, not 2: weighed."
    assert (found.id, found.field, found.severity) == ("mass.sum", "masses", Severity.DOUBT)
    assert (found.seen, found.expected, found.source) == (1, 2, "CSC (read)")


def test_severity_may_be_softened_for_one_case() -> None:
    found = make_rule().finding("masses", severity=Severity.WARN, why="x")
    assert found.severity is Severity.WARN
