"""Corrections of decisions: what was said is put right, what was decided is not decided anew."""

from __future__ import annotations

from typing import Any
from uuid import UUID

import pytest

from tests.support.events import make_mark
from tests.support.model import Model, ModelReceipt

MARK, OTHER = make_mark(1), make_mark(300)
ORDERED = {"description": {"length_ft": 20}, "count": 1, "paid": True}


def last(model: Model, kind: str) -> str:
    return [
        entry.event_id for line in model.histories.values() for entry in line if entry.kind == kind
    ][-1]


def correct(model: Model, kind: str, **changes: Any) -> list[str]:  # noqa: ANN401 - fields
    """Correct the last event of a kind; return the refusals, none when it was recorded."""
    return told(
        model.tell("correction", corrects=last(model, kind), withdrawn=False, changes=changes)
    )


def withdraw(model: Model, kind: str) -> list[str]:
    return told(model.tell("correction", corrects=last(model, kind), withdrawn=True))


def told(receipt: ModelReceipt) -> list[str]:
    refused = [one["id"] for one in receipt.findings if one["severity"] == "refuse"]
    assert (receipt.outcome == "refused") is bool(refused)
    return refused


@pytest.fixture
def model() -> Model:
    """One unit, here and ours."""
    model = Model()
    model.tell("gate-in", size_type="22G1", masses={"gross_kg": 30480})
    return model


def test_what_a_sale_says_beside_is_put_right(model: Model) -> None:
    model.tell("sale", paid=False)
    assert correct(model, "sale", price="1450.00", currency="EUR", reference="S-9") == []
    assert correct(model, "sale", paid=True, buyer="Orin Vale", note="the invoice came back") == []
    sold = model.unit_of(MARK).sale
    assert sold is not None
    assert (sold.price, sold.paid, sold.buyer, sold.reference) == (
        "1450.00",
        True,
        "Orin Vale",
        "S-9",
    )


def test_buyer_cannot_become_one_for_whom_it_was_not_kept(model: Model) -> None:
    model.tell("reservation", buyer="Ada Quill")
    model.tell("sale", buyer="Ada Quill")
    assert correct(model, "sale", buyer="Orin Vale") == ["sale.reserved-for-another"]


def test_released_storage_unit_does_not_become_an_export(model: Model) -> None:
    model.tell("sale")
    assert correct(model, "sale", intended_use="export") == []
    assert correct(model, "sale", intended_use="storage") == []
    model.tell("release")
    found = correct(model, "sale", intended_use="export")
    assert found == ["release.plate-pack-incomplete", "release.no-valid-examination"]
    model.tell("clearance", received=620)
    model.tell("gate-out", at=630, received=640)
    assert correct(model, "sale", intended_use="export") == found
    assert correct(model, "sale", price="9.00") == []


def test_released_unit_does_not_become_unpaid(model: Model) -> None:
    model.tell("sale")
    model.tell("release")
    assert correct(model, "sale", paid=False) == ["release.unpaid"]
    assert correct(model, "sale", paid=False, on_credit=True) == []


@pytest.mark.parametrize(
    ("kind", "changes", "field"),
    [
        ("release", {"reference": "GREY 8"}, "reference"),
        ("release", {"override_reason": "the owner said so"}, "override_reason"),
        ("release", {"count": 2}, "count"),
        ("sale", {"override_reason": "the owner said so"}, "override_reason"),
        ("hold", {"hold": "do-not-stack"}, "hold"),
        ("clearance", {"reference": "GREY 8"}, "reference"),
    ],
)
def test_what_was_decided_stays(
    model: Model, kind: str, changes: dict[str, object], field: str
) -> None:
    for told_before in ("sale", "release", "clearance", "hold"):
        model.tell(told_before)
    receipt = model.tell("correction", corrects=last(model, kind), withdrawn=False, changes=changes)
    assert [(one["id"], one["seen"]) for one in receipt.findings] == [
        ("correction.decision-fixed", field)
    ]
    assert correct(model, kind, note="said by the driver") == []


def test_authority_on_which_a_release_rests_stays(model: Model) -> None:
    model.tell(
        "acquisition",
        owner="Hardstand",
        title_evidence="7",
        title_passed_on="2026-03-01",
        previous_owner="Quill Lines",
        customs="free-circulation",
    )
    model.tell("examination", next_examination="2030-01")
    model.tell("sale", intended_use="transport")
    assert told(model.tell("release")) == ["release.previous-marks"]
    assert told(model.tell("release", marks_authority="letter of 1 March")) == []
    assert correct(model, "release", marks_authority=None) == ["release.previous-marks"]
    assert correct(model, "release", marks_authority="letter of 2 March") == []


@pytest.mark.parametrize("kind", ["hold", "clearance", "cancellation", "take-back"])
def test_what_would_open_a_back_door_is_not_withdrawn(model: Model, kind: str) -> None:
    model.tell("sale")
    model.tell("cancellation", cancels=last(model, "sale"))
    for told_before in ("sale", "release", "clearance", "take-back", "hold"):
        model.tell(told_before)
    before = model.unit_of(MARK)
    assert withdraw(model, kind) == ["correction.not-withdrawn"]
    assert model.unit_of(MARK) == before


@pytest.mark.parametrize("kind", ["reservation", "sale", "release", "work-order"])
def test_what_only_gives_back_may_be_withdrawn(model: Model, kind: str) -> None:
    model.tell("reservation")
    if kind != "reservation":
        model.tell("sale")
    if kind == "release":
        model.tell("release")
    if kind == "work-order":
        model.tell("work-order")
    assert withdraw(model, kind) == []


def test_unit_sold_on_an_order_is_corrected_on_its_order_only(model: Model) -> None:
    order = str(UUID(int=70))
    model.tell("order", id=order, received=610, **ORDERED)
    assert told(model.tell("release", order=order, received=611)) == []
    assert correct(model, "release", haulier="Reed") == ["correction.decision-fixed"]
    assert correct(model, "release", note="by telephone") == []
    assert withdraw(model, "release") == ["correction.not-withdrawn"]
    undone = model.tell("cancellation", mark=None, cancels=last(model, "release"), received=612)
    assert told(undone) == []
    assert (model.unit_of(MARK).sale, model.order(order).outstanding) == (None, 1)
