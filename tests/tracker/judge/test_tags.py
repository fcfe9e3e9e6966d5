"""A tag means one box as long as that box stays, and another one when it comes in with it."""

from __future__ import annotations

import pytest

from tests.support.events import make_mark
from tests.support.model import Model, doubts_in

MARK, OTHER = make_mark(1), make_mark(300)


def gone(model: Model, mark: str | None = MARK, **others: object) -> str:
    """Let a box come in with tag 7 and leave; return its unit."""
    model.tell("gate-in", mark=mark, tag="7", at=1)
    receipt = model.tell("gate-out", mark=mark, tag="7", at=10, purpose="transfer", **others)
    return str(receipt.unit)


@pytest.mark.parametrize("others", [{}, {"to_depot": "SOUTH"}])
@pytest.mark.parametrize("mark", [MARK, None])
@pytest.mark.parametrize("next_mark", [OTHER, None])
def test_next_box_with_the_tag_is_another_unit(
    mark: str | None, next_mark: str | None, others: dict[str, object]
) -> None:
    model = Model()
    first = gone(model, mark, **others)
    receipt = model.tell("gate-in", mark=next_mark, tag="7", at=20)
    assert receipt.unit != first
    assert doubts_in(receipt.findings) == []
    assert model.record(str(receipt.unit)).tag == "7"
    assert model.tell("restow", mark=None, tag="7", at=30).unit == receipt.unit
    assert model.record(first).presence != "in-depot"


def test_departure_takes_the_tag_off_a_box_that_has_a_mark() -> None:
    model = Model()
    assert model.record(gone(model)).tag is None
    nameless = Model()
    assert nameless.record(gone(nameless, None)).tag == "7"


def test_tag_at_another_depot_and_of_a_box_that_is_here_goes_on_meaning_it() -> None:
    model = Model()
    model.tell("gate-in", tag="7", at=1)
    again = model.tell("gate-in", mark=None, tag="7", at=5)
    assert again.unit == model.meaning[MARK]
    assert doubts_in(again.findings) == ["presence.missed-departure"]


def test_box_that_turned_up_elsewhere_has_left_its_tag() -> None:
    model = Model()
    model.tell("gate-in", tag="7", at=1)
    model.tell("gate-in", depot="SOUTH", at=5)
    assert model.tell("gate-in", mark=None, tag="7", at=20).unit != model.meaning[MARK]


@pytest.mark.parametrize("kind", ["sighting", "delivery", "complaint"])
def test_late_report_by_the_tag_still_means_the_box_that_left(kind: str) -> None:
    model = Model()
    first = gone(model)
    assert model.tell(kind, mark=None, tag="7", at=5).unit == first


def test_late_arrival_by_the_tag_from_before_the_departure_is_the_same_box() -> None:
    model = Model()
    first = gone(model)
    assert model.tell("gate-in", mark=None, tag="7", at=2).unit == first


def test_pre_advised_box_that_comes_in_with_its_tag_is_the_one_expected() -> None:
    model = Model()
    expected = model.tell("pre-advice", mark=None, tag="7")
    assert model.tell("gate-in", mark=None, tag="7", at=5).unit == expected.unit
