"""An interchange receipt says who handed over what in which state, and who would not sign."""

from typing import Any

import pytest
from pydantic import ValidationError

from schemas.events.gate import OutsideLookedAt
from shared import cautions
from tests.support.papers import (
    ADDRESS,
    count_pages,
    count_pictures,
    make_issue,
    make_photo,
    make_unit,
    page_picture,
    read_text,
    scan,
)
from tracker.papers.interchange import DamageSeen, Interchange, interchange_pdf, place_words
from tracker.papers.particulars import Party
from tracker.papers.signing import Signing, signing_values


def make_receipt(**values: object) -> Interchange:
    given: dict[str, Any] = {
        "direction": "in",
        "unit": make_unit(),
        "issue": make_issue(),
        "seal": "HQ 0012345",
        "haulier": "Ridge Haulage",
        "vehicle": "AB 12 CD",
        "parties": (Party(role="Delivered by", name="Ridge Haulage", details=("Mill Lane 1",)),),
    }
    return Interchange(**given | values)


def count_ink(pdf: bytes) -> int:
    return sum(page_picture(pdf).convert("L").histogram()[:128])


@pytest.mark.parametrize(
    ("direction", "said"),
    [("in", "Interchange receipt: IN"), ("out", "Interchange receipt: OUT")],
)
def test_interchange_says_direction_unit_and_moment(direction: str, said: str) -> None:
    pdf = interchange_pdf(make_receipt(direction=direction, laden="full"))
    text = read_text(pdf)
    taken = "Taken over" if direction == "in" else "Handed over"
    for words in (
        f"{said} ZZZU 305438 3 {taken} by the depot, full",
        "Moment 2026-07-01 00:30 (UTC+01:00, Europe/Lisbon)",
        "Seal HQ 0012345",
        "Ridge Haulage Mill Lane 1",
        "AB 12 CD",
    ):
        assert words in text
    assert scan(pdf) == [ADDRESS]


def test_interchange_damage_is_written_in_words_of_its_place() -> None:
    damages = (
        DamageSeen(component="top-rail", kind="bent", place="LT24", measured_mm=32, on_lorry=True),
        DamageSeen(component="the hinge", kind="odd", place="by the hinge"),
        DamageSeen(component="door-panel", kind="dented"),
    )
    text = read_text(interchange_pdf(make_receipt(damages=damages)))
    assert "3 damages were seen:" in text
    assert "left side, top half, sections 2 to 4 from the doors (LT24)" in text
    assert "top rail bent, 32 mm on the lorry" in text
    assert "by the hinge the hinge odd at the gate" in text
    assert "not said door panel dented at the gate" in text


def test_interchange_no_damage_and_not_looked_at_are_two_things() -> None:
    seen = read_text(interchange_pdf(make_receipt()))
    unseen = read_text(interchange_pdf(make_receipt(outside=OutsideLookedAt.NO)))
    assert "no damage was seen" in seen
    assert "no damage was seen" not in unseen
    assert "this paper says nothing about its state" in unseen


# The last place is a whole code of the location grid.
@pytest.mark.parametrize(
    ("place", "words"),
    [(None, "not said"), ("under the sill", "under the sill"), ("XXXX", "whole container (XXXX)")],
)
def test_place_words_leaves_what_is_no_place_as_written(place: str | None, words: str) -> None:
    assert place_words(place) == words


def test_interchange_refusal_stands_with_its_reason() -> None:
    refusal = Signing(role="For the haulier", name="P. Alder", state="refused", reason="Not mine.")
    text = read_text(interchange_pdf(make_receipt(signings=(refusal,))))
    assert "For the haulier Refused to sign Not mine. P. Alder" in text


def test_interchange_unsigned_leaves_a_place_for_name_and_date() -> None:
    assert read_text(interchange_pdf(make_receipt())).count("Name in capitals, date") == 2


def test_interchange_signature_is_shown_as_picture_or_strokes() -> None:
    picture = Signing(role="Depot", name="E", state="signed", picture=make_photo("png"))
    strokes = Signing(role="Depot", name="E", state="signed", strokes=(((0, 0), (200, 40)),))
    unsigned = Signing(role="Depot", name="E")
    bare = interchange_pdf(make_receipt(signings=(unsigned,)))
    drawn = interchange_pdf(make_receipt(signings=(strokes,)))
    assert count_pictures(interchange_pdf(make_receipt(signings=(picture,)))) == 1
    assert count_pictures(bare) == 0
    assert count_ink(drawn) > count_ink(bare) + 100


def test_signing_picture_that_cannot_be_shown_does_not_read_as_unsigned() -> None:
    broken = Signing(role="Depot", name="E. Ash", state="signed", picture=b"nothing")
    text = read_text(interchange_pdf(make_receipt(signings=(broken,))))
    assert "E. Ash (signed; the picture of it cannot be shown)" in text


def test_signing_strokes_keep_their_shape_within_the_place() -> None:
    wide = Signing(role="", state="signed", strokes=(((10.0, 5.0), (320.0, 105.0)), ((7.0, 7.0),)))
    assert signing_values((wide,))[0]["strokes"] == [[[0.0, 0.0], [1.0, 1.0]]]
    high = Signing(role="", state="signed", strokes=(((0.0, 0.0), (31.0, 100.0)),))
    assert signing_values((high,))[0]["strokes"] == [[[0.0, 0.0], [0.1, 1.0]]]
    dot = Signing(role="", state="signed", strokes=(((4.0, 4.0), (4.0, 4.0)),))
    assert signing_values((dot,))[0]["strokes"] == [[[0.0, 0.0], [0.0, 0.0]]]


@pytest.mark.parametrize(
    "values", [{"state": "refused"}, {"state": "refused", "reason": " "}, {"state": "signed"}]
)
def test_signing_without_reason_or_signature_is_refused(values: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Signing(role="Depot", **values)


@pytest.mark.parametrize("direction", ["in", "out"])
def test_interchange_cautions_whoever_lifts_and_stays_one_page(direction: str) -> None:
    pdf = interchange_pdf(make_receipt(direction=direction))
    assert " ".join(cautions.LIFTING.split()) in read_text(pdf)
    assert count_pages(pdf) == 1
