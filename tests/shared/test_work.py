from decimal import Decimal

import pytest

from shared.cautions import CAUTIONS, CUTTING
from shared.table_files import Certainty, load_table
from shared.work import ApprovalEffect, ReportedAs, WorkItem, starting_catalogue, strongest

ITEMS = list(starting_catalogue().values())


def test_catalogue_holds_what_a_house_starts_with() -> None:
    wanted = {
        "lock-box",
        "louvre-vent",
        "replacement-door",
        "added-door",
        "window",
        "personnel-door",
        "partition",
        "shelving",
        "lining-insulation",
        "electrics",
        "ramp",
        "repaint",
        "floor-mend",
        "corner-mend",
    }
    assert wanted <= starting_catalogue().keys()
    assert len(ITEMS) == len(load_table("work_catalogue"))


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.name)
def test_row_says_what_a_house_must_know(item: WorkItem) -> None:
    assert item.words
    assert item.labour_min > 0
    assert item.price is not None
    assert item.price == item.price.quantize(Decimal("0.01")) > 0
    assert item.certainty is Certainty.PRACTICE
    assert "no source" in item.source
    assert item.caution in CAUTIONS or item.caution == "" or item.caution.endswith(".")


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.name)
def test_what_cuts_touches_the_approval_and_carries_its_caution(item: WorkItem) -> None:
    if item.cuts:
        assert item.approval_effect is not ApprovalEffect.NONE
        assert item.caution
    else:
        assert item.cut_out_kg == 0
    if item.cut_out_kg:
        assert item.caution_words == CUTTING


def test_row_is_read_into_its_types() -> None:
    vent = starting_catalogue()["louvre-vent"]
    assert (vent.mass_kg, vent.cut_out_kg, vent.permanent) == (3, 1, True)
    assert (vent.price, vent.labour_min) == (Decimal("48.00"), 40)
    assert (vent.approval_effect, vent.reported_as) == (
        ApprovalEffect.ASK,
        ReportedAs.MODIFICATION,
    )
    assert starting_catalogue()["ramp"].permanent is False
    assert starting_catalogue()["replacement-door"].mass_kg is None


def test_caution_of_the_house_stands_as_it_is() -> None:
    lining = starting_catalogue()["lining-insulation"]
    assert lining.caution_words == lining.caution != ""
    assert starting_catalogue()["shelving"].caution_words == ""


@pytest.mark.parametrize(
    ("effects", "expected"),
    [
        ([], "none"),
        (["none"], "none"),
        (["none", "ask"], "ask"),
        (["void", "ask", "none"], "void"),
    ],
)
def test_strongest_effect_counts(effects: list[str], expected: str) -> None:
    assert strongest(map(ApprovalEffect, effects)) == expected
