"""A release note carries its reference only when every condition is met."""

from datetime import UTC, datetime
from typing import Any

from shared import cautions
from tests.support.papers import ADDRESS, count_pages, make_issue, make_unit, read_text, scan
from tracker.papers.release_note import Condition, ReleaseNote, release_note_pdf
from tracker.services.release_notes import ASKED

REFERENCE = "K7QM-4XRT-92HB"
PAID = Condition(says="Paid, or on credit", met=True, why="paid 2026-06-29")
UNPAINTED = Condition(says="Tare painted", met=False, why="The doors say 2 230 kg.")


def make_note(**values: object) -> ReleaseNote:
    given: dict[str, Any] = {
        "unit": make_unit(),
        "issue": make_issue(),
        "reference": REFERENCE,
        "haulier": "Ridge Haulage",
        "units": 6,
        "collected": 2,
        "description": "6 of 20 ft, cargo-worthy",
        "expires_at": datetime(2026, 7, 14, 16, tzinfo=UTC),
        "conditions": (PAID,),
    }
    return ReleaseNote(**given | values)


def test_release_note_granted_shows_reference_count_expiry_and_code() -> None:
    pdf = release_note_pdf(make_note())
    text = read_text(pdf)
    for said in (
        "Released for collection",
        REFERENCE,
        "Good for 4 of 6 until 2026-07-14 17:00 (UTC+01:00, Europe/Lisbon)",
        "6 of 20 ft, cargo-worthy",
        "Haulier Ridge Haulage",
        "Collector not named",
        "met Paid, or on credit paid 2026-06-29",
    ):
        assert said in text
    assert "NOT" not in text
    assert scan(pdf) == [ADDRESS]


def test_release_note_of_a_unit_says_where_it_stands_and_cautions_on_one_page() -> None:
    asked = tuple(Condition(says=one.says, met=True) for one in ASKED)
    told = Condition(says=ASKED[0].says, met=True, why="Warning: the plate was read by nobody yet.")
    pdf = release_note_pdf(make_note(slot="H1-1", units=1, conditions=(told, *asked[1:])))
    text = read_text(pdf)
    assert "Stands in H1-1" in text
    assert " ".join(cautions.LIFTING.split()) in text
    assert count_pages(pdf) == 1


def test_release_note_with_unmet_condition_hides_the_reference_and_says_why() -> None:
    text = read_text(release_note_pdf(make_note(conditions=(PAID, UNPAINTED))))
    assert "NOT released" in text
    assert "1 of 2 conditions not met" in text
    assert text.index("NOT MET Tare painted The doors say 2 230 kg.") < text.index("Paid, or")
    assert "Nothing may be collected on this paper." in text
    assert REFERENCE not in text


def test_release_note_without_reference_releases_nothing() -> None:
    note = make_note(reference=None)
    assert not note.may_leave
    assert "NOT released No collection reference was given." in " ".join(
        read_text(release_note_pdf(note)).split()
    )


def test_release_note_without_expiry_says_none() -> None:
    text = read_text(release_note_pdf(make_note(expires_at=None, collected=7)))
    assert "Good for 0 of 6" in text
    assert "Expiry none" in text
