"""The buyer of a unit for storage is told what it is not, and how not to be hurt by it."""

from typing import Any, get_args

import pytest

from schemas.records import Approval
from shared import cautions
from shared.plates import ExaminationState
from tests.support.papers import ADDRESS, count_pages, make_issue, make_unit, read_text, scan
from tracker.papers.acknowledgement import Acknowledgement, acknowledgement_pdf, warnings_of
from tracker.papers.particulars import Party


def make_paper(**values: object) -> Acknowledgement:
    given: dict[str, Any] = {
        "unit": make_unit(),
        "issue": make_issue(),
        "buyer": Party(role="Buyer", name="Orchard Farm"),
        "approval": "void",
        "examination": ExaminationState.PASSED,
        "warnings": ("The painted tare is not what it weighs now.",),
    }
    return Acknowledgement(**given | values)


def test_acknowledgement_lists_every_warning_and_caution_with_a_place_to_sign() -> None:
    pdf = acknowledgement_pdf(make_paper(sale_reference="S-1207", condition="wind and watertight"))
    text = read_text(pdf)
    for said in (
        "It is not sold for transport.",
        "Its safety approval is void",
        "Its periodic examination has lapsed.",
        "The painted tare is not what it weighs now.",
        "Sale S-1207",
        "wind and watertight",
        "Buyer Orchard Farm",
        "Maximum gross 30 480 kg, Tare 2 251 kg, Payload 28 229 kg",
        "The buyer",
        "For the depot",
    ):
        assert said in text
    for word, caution in (*cautions.FOR_BUYERS, ("", cautions.DEFER)):
        assert f"{word} {caution}".strip() in text
    assert count_pages(pdf) == 1
    assert scan(pdf) == [ADDRESS]


@pytest.mark.parametrize("approval", get_args(Approval))
@pytest.mark.parametrize("state", ExaminationState)
def test_warnings_name_whatever_is_not_in_order(
    approval: Approval, state: ExaminationState
) -> None:
    said = warnings_of(make_paper(approval=approval, examination=state, warnings=()))
    expected = 1 + (approval != "approved") + (state is not ExaminationState.VALID)
    assert len(said) == expected
    assert said[0].startswith("It is not sold for transport")


def test_warnings_are_told_once() -> None:
    twice = ("The roof is soft.", "The roof is soft.", "")
    assert warnings_of(make_paper(warnings=twice)).count("The roof is soft.") == 1
    assert "" not in warnings_of(make_paper(warnings=twice))


def test_acknowledgement_of_a_unit_without_masses_says_so() -> None:
    unit = make_unit(mark=None, tag="N-17", masses={})
    text = read_text(acknowledgement_pdf(make_paper(unit=unit)))
    assert "Tag N-17" in text
    assert "Tare not known" in text
