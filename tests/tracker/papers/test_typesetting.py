"""What people wrote is shown as text, whatever it is; the same values give the same bytes."""

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import HardstandError
from tests.support.papers import (
    HOSTILE,
    count_pages,
    make_issue,
    make_photo,
    make_unit,
    page_picture,
    read_text,
    scan,
)
from tracker.papers import typesetting
from tracker.papers.interchange import DamageSeen, Interchange, interchange_pdf
from tracker.papers.particulars import Party
from tracker.papers.release_note import Condition, ReleaseNote, release_note_pdf
from tracker.papers.signing import Signing

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
ROOT = Path(__file__).parents[3]

MAKE_ONE = """
import hashlib
from tests.support.papers import make_issue, make_unit
from tracker.papers.interchange import Interchange, interchange_pdf
receipt = Interchange(direction="in", unit=make_unit(), issue=make_issue())
print(hashlib.sha256(interchange_pdf(receipt)).hexdigest())
"""


def make_receipt(text: str) -> Interchange:
    return Interchange(
        direction="in",
        unit=make_unit(mark=None, tag=text, former_marks=(text,), size_type=text),
        issue=make_issue(depot=text, depot_details=(text,)),
        purpose=text,
        reference=text,
        seal=text,
        haulier=text,
        vehicle=text,
        driver=text,
        parties=(Party(role=text, name=text, details=(text,)),),
        damages=(DamageSeen(component=text, kind=text, place=text),),
        remarks=text,
        signings=(Signing(role=text, name=text, state="refused", reason=f"because {text}"),),
    )


def test_typeset_markup_and_code_of_people_are_shown_as_written() -> None:
    text = read_text(interchange_pdf(make_receipt(HOSTILE)))
    for written in ('#panic("out") *bold* $x^2$ <label> @ref `raw` \\u{41} //', 'passwd") ] ) }'):
        assert written in text


def test_typeset_turning_characters_cannot_turn_what_follows() -> None:
    assert typesetting.clean("A\u202eB\u2066C\u2069D\x00\x1bE\ud800F\n\tG") == (
        "ABCD\ufffd\ufffdE\ufffdF\n\tG"
    )


def test_typeset_right_to_left_names_keep_their_letters() -> None:
    name = "\u05d0\u05d1\u05d9 \u05db\u05d4\u05df"
    text = read_text(interchange_pdf(make_receipt("x").model_copy(update={"driver": name})))
    assert set(name) <= set(text)


@settings(max_examples=25, derandomize=True, deadline=None)
@given(st.text(st.characters(), min_size=1, max_size=60))
def test_typeset_any_text_gives_a_paper(text: str) -> None:
    assert interchange_pdf(make_receipt(text)).startswith(b"%PDF-")


def test_clean_long_word_may_break_and_short_words_stay_whole() -> None:
    assert typesetting.clean("W" * 28) == "\u200b".join(("W" * 14, "W" * 14))
    assert typesetting.clean("W" * 27) == "W" * 27


def test_typeset_long_word_stays_on_the_page() -> None:
    receipt = make_receipt("x")
    short = interchange_pdf(receipt.model_copy(update={"remarks": ""}))
    long = interchange_pdf(receipt.model_copy(update={"remarks": "W" * 4000}))
    # "Written" stands on each page too.
    others = read_text(short).count("W") + count_pages(long) - count_pages(short)
    assert read_text(long).count("W") - others == 4000
    page = page_picture(long)
    margin = page.crop((page.width - page.width // 12, 0, page.width, page.height))
    assert margin.convert("L").getextrema() == (255, 255)


def test_typeset_long_list_flows_over_pages_and_keeps_every_row() -> None:
    damages = tuple(
        DamageSeen(component="top-rail", kind="bent", measured_mm=number)
        for number in range(1001, 1201)
    )
    pdf = interchange_pdf(make_receipt("x").model_copy(update={"damages": damages}))
    text = read_text(pdf)
    assert count_pages(pdf) > 4
    assert all(f"{number} mm" in text for number in range(1001, 1201))
    assert f"page {count_pages(pdf)} of {count_pages(pdf)}" in text


def test_typeset_same_values_give_same_bytes_in_another_process() -> None:
    environment = {"PYTHONPATH": str(ROOT), "PATH": "", "HOME": "/nonexistent"}
    command = [sys.executable, "-c", MAKE_ONE]
    runs = {
        subprocess.run(
            command, cwd=ROOT, env=environment | {"TZ": zone}, capture_output=True, check=True
        ).stdout
        for zone in ("UTC", "Asia/Tokyo")
    }
    assert len(runs) == 1
    assert len(runs.pop().strip()) == 64


def test_typeset_moment_is_the_date_inside() -> None:
    pdf = interchange_pdf(make_receipt("x"))
    assert b"2026-06-30T23:30:00" in pdf
    later = make_receipt("x").model_copy(update={"issue": make_issue(depot="x", at=AT)})
    assert b"2026-06-30" not in interchange_pdf(later)


def test_typeset_uses_only_fonts_that_come_with_the_packages() -> None:
    fonts = typesetting._fonts().fonts()
    packages = {Path(font.path).parents[1].name for font in fonts if font.path}
    assert packages == {"font_source_sans_pro"}
    assert b"SourceSansPro" in interchange_pdf(make_receipt("x"))


def test_typeset_missing_values_say_which_paper() -> None:
    with pytest.raises(HardstandError, match="'release_note' could not be set") as caught:
        typesetting.typeset("release_note", {}, AT)
    assert isinstance(caught.value, typesetting.PaperError)
    assert caught.value.template == "release_note"


@pytest.mark.parametrize("kind", ["jpeg", "png", "gif"])
def test_picture_of_a_known_kind_is_shown(kind: str) -> None:
    shown = typesetting.picture(make_photo(kind))
    assert shown is not None
    assert shown["kind"] == {"jpeg": "jpg"}.get(kind, kind)


@pytest.mark.parametrize(
    "content",
    [
        None,
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\x89PNG\r\n\x1a\nbroken",
        make_photo()[:200],
    ],
)
def test_picture_that_cannot_be_shown_is_none(content: bytes | None) -> None:
    assert typesetting.picture(content) is None


def test_qr_code_of_a_long_address_is_read_back() -> None:
    address = "https://hardstand.northquay.example/r/" + "abc/" * 40
    note = ReleaseNote(
        unit=make_unit(),
        issue=make_issue(address=address),
        reference="K7QM-4XRT-92HB",
        conditions=(Condition(says="Paid", met=True),),
    )
    assert scan(release_note_pdf(note)) == [address]
