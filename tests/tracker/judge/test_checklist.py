"""The checklist fits the unit: size, kind, provenance and use; and says why, what and how sure."""

import pytest

from schemas.events.deal import IntendedUse
from shared.cautions import ENTERING
from shared.checklist import AnswerKind
from shared.table_files import Certainty
from tests.support.events import make_record
from tracker.judge.checklist import CheckItem, build_of, checklist_for

STORAGE, EXPORT = IntendedUse.STORAGE, IntendedUse.EXPORT


def items(use: IntendedUse = EXPORT, **known: object) -> dict[str, CheckItem]:
    return {item.id: item for item in checklist_for(make_record(**known), intended_use=use)}


def test_air_is_first_and_everything_inside_comes_after_with_its_caution() -> None:
    listed = list(items(size_type="22G1").values())
    assert listed[0].id == "air"
    assert listed[0].caution == ENTERING
    assert {item.id for item in listed if item.inside} == {
        "floor", "lashing-points", "light-test"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("size_type", "asked", "not_asked"),
    [
        ("22G1", "roof light-test small-vents", "roof-cover tank-shell cooling-unit end-walls"),
        ("45R1", "cooling-unit floor", "small-vents lock-box roof-cover light-test"),
        ("22U1", "roof-cover left-side", "roof light-test small-vents"),
        ("22P3", "end-walls floor understructure", "left-side doors gaskets roof"),
        ("22T1", "tank-shell corner-posts plate", "floor doors roof light-test understructure"),
        ("22B1", "roof light-test", "roof-cover small-vents"),
    ],
)
def test_kind_of_box_decides_what_is_looked_at(size_type: str, asked: str, not_asked: str) -> None:
    found = set(items(size_type=size_type))
    assert set(asked.split()) <= found
    assert not set(not_asked.split()) & found


def test_height_marks_are_asked_of_a_high_box_that_is_to_travel() -> None:
    assert "height-marks" in items(size_type="45G1")
    assert "height-marks" not in items(size_type="42G1")
    assert "height-marks" not in items(STORAGE, size_type="45G1")
    assert items(size_type="45G1")["height-marks"].known[0].startswith("Higher than 8 ft 6 in")


def test_storage_needs_no_lashing_points_but_the_plate_all_the_same() -> None:
    assert "lashing-points" not in items(STORAGE, size_type="22G1")
    assert "plate" in items(STORAGE, size_type="22G1")


@pytest.mark.parametrize("size_type", [None, "??", "22G"])
def test_unit_of_unknown_size_is_asked_everything(size_type: str | None) -> None:
    known = items(size_type=size_type)
    assert {"roof", "roof-cover", "tank-shell", "scrapes", "old-labels", "height-marks"} <= set(
        known
    )


def test_fork_pockets_are_expected_by_length() -> None:
    short = items(size_type="22G1")["fork-pockets"].expected
    assert [one.words for one in short] == [
        "10 ft and 20 ft units have two fork pockets for lifting empty."
    ]
    assert short[0].certainty is Certainty.PRACTICE
    assert "no fork pockets" in items(size_type="42G1")["fork-pockets"].expected[0].words


def test_lock_box_is_expected_by_provenance() -> None:
    assert "standard" in items(provenance="one-trip")["lock-box"].expected[0].words
    used = items(provenance="used")["lock-box"].expected
    assert [one.words for one in items(provenance="refurbished")["lock-box"].expected] == [
        one.words for one in used
    ]
    assert len(used) == 2


def test_provenance_decides_scrapes_and_old_labels() -> None:
    assert "scrapes" in items(provenance="one-trip")
    assert "old-labels" not in items(provenance="one-trip")
    assert "scrapes" not in items(provenance="used")
    assert {"old-labels", "previous-owner"} <= set(items(provenance="used"))


def test_plate_is_read_line_by_line() -> None:
    plate = items()["plate"]
    assert plate.answer is AnswerKind.PLATE
    assert plate.lines[0] == "CSC SAFETY APPROVAL"
    assert "DATE MANUFACTURED (month and year)" in plate.lines
    assert "country of approval and approval reference" in plate.lines
    assert len(plate.lines) == 12
    assert items()["doors"].lines == ()


@pytest.mark.parametrize(
    ("known", "says"),
    [
        ({}, ("Nobody has read it yet.",)),
        ({"approval": "none"}, ("The record says that there is no plate.",)),
        ({"plate": {"gross_kg": 1}}, ("It was read, but not photographed.",)),
        ({"plate": {"gross_kg": 1, "photo": "f" * 64}}, ()),
    ],
)
def test_what_is_known_of_the_plate_stands_beside_it(
    known: dict[str, object], says: tuple[str, ...]
) -> None:
    assert items(**known)["plate"].known == says


def test_what_is_known_of_the_air_stands_beside_it() -> None:
    told = items(placards="UN 1090", last_cargo="solvent", air="suspect")["air"].known
    assert told == ("Seen on it: UN 1090.", "Last cargo: solvent.", "The air is suspect.")
    assert items()["air"].known == ("The air is not known: treat it as bad.",)
    assert "shut since" in items(air="ventilated")["air"].known[0]
    assert "test it again" in items(air="tested")["air"].known[0]


def test_what_the_code_promises_of_vents_stands_beside_the_count() -> None:
    assert items(size_type="22G0")["small-vents"].known == (
        "No vents: count the small vents, there should be none.",
    )
    assert items(size_type="22G1")["small-vents"].known[0].startswith("Passive vents")


@pytest.mark.parametrize(
    ("code", "length_ft", "family", "high"),
    [
        ("22G1", 20, "G", False),
        ("45G1", 40, "G", True),
        ("2210", 20, "G", None),
        ("4310", 40, "G", False),
        ("????", None, None, None),
    ],
)
def test_build_tells_what_the_code_tells(
    code: str, length_ft: int | None, family: str | None, high: bool | None
) -> None:
    build = build_of(code)
    assert (build.length_ft, build.family) == (length_ft, family)
    if high is not None:
        assert build.high is high
