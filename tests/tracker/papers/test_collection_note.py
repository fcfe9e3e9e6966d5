"""The note of a reference for several units bears the reference only while it is good."""

from datetime import UTC, datetime
from typing import Any

from shared import cautions
from tests.support.papers import ADDRESS, HOSTILE, count_pages, make_issue, read_text, scan
from tracker.papers.collection_note import CollectionPaper, Gone, collection_note_pdf

REFERENCE = "K7QM-4XRT-92HB"
TUESDAY = datetime(2026, 6, 30, 7, 30, tzinfo=UTC)


def make_paper(**values: object) -> CollectionPaper:
    given: dict[str, Any] = {
        "issue": make_issue(),
        "reference": REFERENCE,
        "order": "OF 6",
        "buyer": "Orchard Farm",
        "wanted": "20 ft, cargo-worthy",
        "units": 6,
        "used": 2,
        "gone": (Gone(name="ZZZU3000013", at=TUESDAY), Gone(name="ZZZU3000029", at=TUESDAY)),
        "haulier": "Ridge Haulage",
        "expires_at": datetime(2026, 7, 14, 16, tzinfo=UTC),
    }
    return CollectionPaper(**given | values)


def test_note_says_what_is_left_for_whom_until_when_and_where_to_scan() -> None:
    pdf = collection_note_pdf(make_paper())
    text = read_text(pdf)
    for said in (
        "Released for collection",
        REFERENCE,
        "Good for 4 of 6 units until 2026-07-14 17:00 (UTC+01:00, Europe/Lisbon)",
        "Which units 20 ft, cargo-worthy",
        "How many 4 left of 6, 2 collected",
        "Order OF 6",
        "Buyer Orchard Farm",
        "Haulier Ridge Haulage",
        "Collector not named",
        "ZZZU3000013 2026-06-30 08:30",
        "ZZZU3000029 2026-06-30 08:30",
    ):
        assert said in text
    assert "NOT" not in text
    assert scan(pdf) == [ADDRESS]


def test_note_of_a_reference_that_opens_nothing_hides_it_and_says_why() -> None:
    against = "The release expired at 2026-07-14 16:00 UTC."
    text = read_text(collection_note_pdf(make_paper(against=(against,))))
    assert "NOT released" in text
    assert against in text
    assert "0 left of 6" in text
    assert "Nothing may be collected on this paper." in text
    assert REFERENCE not in text


def test_note_without_expiry_and_without_departures_says_none() -> None:
    text = read_text(collection_note_pdf(make_paper(expires_at=None, gone=(), used=0)))
    assert "Expiry none" in text
    assert "Collected already" not in text


def test_note_takes_what_people_write_for_text_and_lists_many_on_more_pages() -> None:
    many = tuple(Gone(name=f"ZZZU{serial:07d}", at=TUESDAY) for serial in range(120))
    pdf = collection_note_pdf(make_paper(buyer=HOSTILE, order=HOSTILE, gone=many, units=200))
    text = read_text(pdf)
    assert '#panic("out") *bold*' in text
    assert "ZZZU0000119" in text
    assert count_pages(pdf) > 1


def test_note_cautions_whoever_lifts() -> None:
    assert " ".join(cautions.LIFTING.split()) in read_text(collection_note_pdf(make_paper()))
