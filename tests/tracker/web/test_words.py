"""What events say, as words of a page: no digest, no bare code, moments in the depot's own time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.support.depot import BOX, report
from tracker.services import keep_house
from tracker.web.pages.words import flat, kilograms, photos_of, told

if TYPE_CHECKING:
    from tests.support.web import Site

ZONE = "Asia/Tokyo"
PHOTO, OTHER_PHOTO = "533cb3" + "0" * 58, "77aa01" + "0" * 58


def test_moments_are_told_in_the_zone_and_codes_in_words() -> None:
    said = {
        "expires_at": "2026-10-30T16:00:00Z",
        "until": "2026-10-30T01:00:00+00:00",
        "size_type": "22G1",
        "manufactured_in": "2026-01",
        "masses": {"tare_kg": 2230},
    }
    assert dict(flat(said, zone=ZONE)) == {
        "expires at": "31 Oct 2026, 01:00",
        "until": "30 Oct 2026, 10:00",
        "size type": "22G1: 20 ft, general purpose: passive vents at the upper part of the cargo"
        " space",
        "manufactured in": "Jan 2026",
        "tare (kg)": "2\u202f230",
    }


def test_photos_are_shown_and_never_spelt_out() -> None:
    said = {
        "plate": {"photo": PHOTO, "no_plate": False, "gross_kg": 30480},
        "photos": [OTHER_PHOTO, PHOTO],
        "damages": [{"place": "LB2N", "photo": OTHER_PHOTO}],
        "signature": "9" * 64,
    }
    assert photos_of(said) == [OTHER_PHOTO, PHOTO]
    text = str(flat(said))
    assert "533cb3" not in text
    assert "77aa01" not in text
    assert "999" not in text
    assert ("plate gross (kg)", "30\u202f480") in flat(said)


def test_masses_are_written_as_sentences_write_them() -> None:
    assert kilograms(2287).replace("\u202f", " ") == "2 287 kg"
    assert kilograms(None) == ""


def test_sentence_tells_its_moment_in_the_zone() -> None:
    sentence = "Sold at 2026-03-02 16:00 UTC."
    assert told(sentence, ZONE) == "Sold at 3 Mar 2026, 01:00."
    assert told(sentence) == sentence


def test_page_of_a_unit_tells_no_moment_of_utc_and_shows_the_photo_of_the_plate(
    site: Site,
) -> None:
    keep_house.set_depot(site.depot.web, "NORTH", "North", ZONE)
    plate = {"photo": PHOTO, "manufactured_in": "2026-01", "gross_kg": 30480}
    site.depot.record(
        report("gate-in", happened_at="2026-03-02T06:00:00Z"),
        report("inspection", condition="cargo-worthy", plate=plate),
        report("reservation", until="2026-03-09T12:00:00+00:00"),
    )
    site.depot.record(report("gate-out", happened_at="2026-03-02T07:30:00Z"))
    page = site.person("NORTH:manager").get(f"/units/{BOX}").text
    assert f'src="/api/photos/{PHOTO}?size=small"' in page
    assert f"photo {PHOTO[:6]}" not in page
    assert " UTC" not in page
    assert "9 Mar 2026, 21:00" in page
