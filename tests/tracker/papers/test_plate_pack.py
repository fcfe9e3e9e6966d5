"""A plate pack says what was read, whether it is complete, and what speaks against a journey."""

import hashlib
import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from schemas.readings import Masses
from shared.months import Month
from shared.plate_lines import PLATE_LINES
from shared.plates import ExaminationState, MonthReading
from shared.table_files import Certainty
from tests.support.papers import (
    ADDRESS,
    DIGEST,
    HOSTILE,
    count_pictures,
    make_issue,
    make_photo,
    make_plate,
    make_unit,
    read_text,
    scan,
)
from tracker.papers import plate_pack
from tracker.papers.plate_pack import PlatePack, hindrances, plate_pack_json, plate_pack_pdf

PHOTO = make_photo()


def make_pack(**values: object) -> PlatePack:
    given: dict[str, Any] = {
        "unit": make_unit(),
        "issue": make_issue(),
        "plate": make_plate(),
        "approval": "approved",
        "next_examination": Month(2029, 5),
        "journey_ends_on": date(2029, 4, 30),
        "photo": PHOTO,
        "photo_says": "Taken at the inspection",
    }
    return PlatePack(**given | values)


def test_plate_pack_complete_shows_all_of_it() -> None:
    pdf = plate_pack_pdf(make_pack())
    text = read_text(pdf)
    for said in (
        "ZZZU 305438 3",
        "Complete Every line",
        "22G1 · 20 ft, 8 ft 6 in high",
        "30 480 kg 2 251 kg 28 229 kg 33.2 m³",
        "4 963 lb",
        "TRANSVERSE RACKING TEST FORCE RACKING TEST LOAD VALUE 150 000 N",
        "MAXIMUM OPERATING GROSS MASS MAXIMUM GROSS WEIGHT 30 480 kg",
        "2029-05, in date to 2029-04-30",
        "Examination on that day in date",
        f"row 42, digest {DIGEST}",
        "Written 2026-07-01 00:30 (UTC+01:00, Europe/Lisbon)",
    ):
        assert said in text
    assert f"SHA-256 {hashlib.sha256(PHOTO).hexdigest()}" in text
    assert "Missing" not in text
    assert "Against a journey" not in text
    assert count_pictures(pdf) == 1
    assert scan(pdf) == [ADDRESS]


@pytest.mark.parametrize(
    ("values", "missing"),
    [
        ({"photo": None}, "a photo of the plate"),
        ({"photo": b"no picture"}, "a photo of the plate that opens"),
        ({"plate": None}, "the plate's lines: nobody has read them"),
        ({"plate": make_plate(manufacturer_number=None)}, "line 3 of the plate (IDENTIFICATION"),
        ({"plate": make_plate(approval_reference=None)}, "line 1 of the plate (country of"),
        ({"plate": make_plate(racking_n=None)}, "line 6 of the plate (TRANSVERSE"),
        ({"next_examination": None}, "the date of the next examination"),
        ({"unit": make_unit(mark=None, tag="N-17")}, "the mark"),
        ({"unit": make_unit(size_type=None)}, "the size-type code"),
        ({"unit": make_unit(masses=Masses(gross_kg=30480))}, "the tare as marked on the doors"),
        ({"lacking": ("authority for the marks",)}, "authority for the marks"),
    ],
)
def test_plate_pack_lacking_one_thing_names_just_that(values: dict[str, Any], missing: str) -> None:
    pack = make_pack(**values)
    assert [one[: len(missing)] for one in pack.missing] == [missing]
    text = read_text(plate_pack_pdf(pack))
    assert f"Not complete. Missing: • {missing}" in text
    assert "Complete Every line" not in text


def test_plate_pack_without_plate_says_that_somebody_looked() -> None:
    pack = make_pack(plate=make_plate().model_copy(update={"no_plate": True}), approval="none")
    assert pack.missing == ("a safety approval plate: somebody looked, and there is none",)
    assert "Somebody looked: the unit bears no" in read_text(plate_pack_pdf(pack))
    assert json.loads(plate_pack_json(pack))["plate_lines"] == []


@pytest.mark.parametrize(
    "changed",
    [
        {"next_examination": None},
        {"end_wall_factor": None, "side_wall_factor": None},
        {"racking_n": None, "racking_kg": 15240},
        {"gross_kg": None, "gross_lb": 67200},
    ],
)
def test_plate_pack_needs_only_lines_that_every_plate_has(changed: dict[str, Any]) -> None:
    assert make_pack(plate=make_plate(**changed)).missing == ()


def test_plate_pack_line_known_from_memory_only_is_never_asked_for() -> None:
    line = next(line for line in PLATE_LINES if line.number == "5")
    assert plate_pack._is_required(line)
    assert not plate_pack._is_required(replace(line, certainty=Certainty.MEMORY))


def test_plate_pack_without_pounds_has_no_row_of_pounds() -> None:
    masses = Masses(gross_kg=30480, tare_kg=2251)
    text = read_text(plate_pack_pdf(make_pack(unit=make_unit(masses=masses))))
    assert "kg 30 480 kg 2 251 kg not known Safety approval plate" in text


@pytest.mark.parametrize(
    ("ends", "reading", "state"),
    [
        (date(2029, 4, 30), MonthReading.STRICT, ExaminationState.VALID),
        (date(2029, 5, 1), MonthReading.STRICT, ExaminationState.LAST_MONTH),
        (date(2029, 5, 31), MonthReading.LENIENT, ExaminationState.VALID),
        (date(2029, 6, 1), MonthReading.LENIENT, ExaminationState.PASSED),
    ],
)
def test_plate_pack_examination_is_judged_at_the_journeys_end(
    ends: date, reading: MonthReading, state: ExaminationState
) -> None:
    pack = make_pack(journey_ends_on=ends, reading=reading)
    assert pack.examination is state
    assert bool(hindrances(pack)) is (state is not ExaminationState.VALID)


def test_plate_pack_without_journey_is_judged_on_its_day_at_the_depot() -> None:
    # 23:30 UTC on 30 June is 1 July in Lisbon: the marked month has begun there.
    pack = make_pack(journey_ends_on=None, next_examination=Month(2026, 7))
    assert pack.examination is ExaminationState.LAST_MONTH
    assert "2026-07-01 (day of this pack)" in read_text(plate_pack_pdf(pack))


def test_plate_pack_complete_but_void_says_so_in_paper_and_json() -> None:
    pack = make_pack(approval="void", journey_ends_on=date(2030, 1, 1))
    text = read_text(plate_pack_pdf(pack))
    assert "Against a journey • approval void until re-approved" in text
    assert "examination on 2030-01-01: LAPSED" in text
    said = json.loads(plate_pack_json(pack))
    assert said["complete"] is True
    assert len(said["hindrances"]) == 2


def test_plate_pack_changed_after_asking_says_what_it_lacks_now() -> None:
    pack = make_pack()
    assert pack.missing == ()
    assert pack.model_copy(update={"photo": None}).missing == ("a photo of the plate",)


def test_plate_pack_programme_stands_in_place_of_a_date() -> None:
    pack = make_pack(next_examination=None, programme="ACEP ZZ-12")
    assert pack.missing == ()
    assert "programme ACEP ZZ-12" in read_text(plate_pack_pdf(pack))


def test_plate_pack_json_carries_values_titles_and_the_photos_digest() -> None:
    written = plate_pack_json(make_pack())
    said = json.loads(written)
    assert said["unit"]["mark"] == "ZZZU3054383"
    assert said["complete"] is True
    assert said["missing"] == []
    assert said["examination"] == {"on": "2029-04-30", "state": "valid"}
    assert said["photo"] == {"sha256": hashlib.sha256(PHOTO).hexdigest()}
    assert said["issue"]["history_digest"] == DIGEST
    stacking = next(line for line in said["plate_lines"] if line["line"] == "5")
    assert stacking["values"] == {"stacking_kg": 216000}
    assert stacking["title_before_2014"] == "ALLOWABLE STACKING WEIGHT FOR 1.8 g"
    assert written == plate_pack_json(make_pack())
    assert list(said) == sorted(said)


def test_plate_pack_hostile_plate_line_is_text() -> None:
    plate = make_plate(manufacturer_number="#panic() *x* $y$")
    assert "#panic() *x* $y$" in read_text(plate_pack_pdf(make_pack(plate=plate)))
    assert plate_pack_pdf(make_pack(photo_says=HOSTILE, lacking=(HOSTILE,)))
