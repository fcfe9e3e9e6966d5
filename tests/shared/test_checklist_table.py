import itertools
import re
from collections import Counter

import pytest

from shared.cautions import CAUTIONS
from shared.checklist import AnswerKind, Check, Proves, all_checks, checks_by_id
from shared.expectations import list_expectations
from shared.size_type_tables import families
from shared.table_files import Certainty

CHECKS = all_checks()


def test_ids_are_unique_and_written_as_events_name_them() -> None:
    ids = Counter(check.id for check in CHECKS)
    assert max(ids.values()) == 1
    assert len(ids) >= 30
    assert all(re.fullmatch(r"[a-z][a-z0-9-]{1,39}", check_id) for check_id in ids)
    assert checks_by_id() == {check.id: check for check in CHECKS}


def test_air_comes_first_and_rooms_are_gone_through_once_before_the_inside() -> None:
    assert (CHECKS[0].id, CHECKS[0].answer) == ("air", AnswerKind.GAS)
    assert CHECKS[1].room == CHECKS[0].room == "before going in"
    assert all(check.inside == (check.room == "inside") for check in CHECKS)
    rooms = [room for room, _ in itertools.groupby(CHECKS, key=lambda check: check.room)]
    assert len(rooms) == len(set(rooms)) == 7


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_words_and_reason_are_sentences_with_source_and_certainty(check: Check) -> None:
    assert check.words.endswith(".")
    assert check.why.endswith(".")
    assert check.source
    assert isinstance(check.certainty, Certainty)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_what_a_row_names_exists(check: Check) -> None:
    assert not check.caution or check.caution in CAUTIONS
    assert not check.part or list_expectations(check.part)
    assert check.families <= set(families())
    assert check.uses <= {"storage", "export", "transport"}
    assert check.provenances <= {"one-trip", "used", "refurbished"}


@pytest.mark.parametrize(
    "room",
    [
        "left-side right-side front-end roof",
        "understructure fork-pockets",
        "doors locking-bars gaskets",
        "floor lashing-points small-vents",
        "light-test marks door-marking height-marks plate",
    ],
)
def test_everything_an_inspection_must_have_is_there(room: str) -> None:
    assert set(room.split()) <= set(checks_by_id())


def test_where_somebody_can_be_hurt_a_caution_stands() -> None:
    for check in CHECKS:
        if check.inside or check.answer in (AnswerKind.GAS, AnswerKind.LIGHT):
            assert check.caution == "entering"
    assert checks_by_id()["roof"].caution == "height"
    assert checks_by_id()["understructure"].caution == "under"
    assert checks_by_id()["corner-fittings"].caution == "lifting"


def test_limits_that_no_second_text_confirms_say_so() -> None:
    for check_id in ("corner-posts", "corner-fittings", "understructure", "locking-bars"):
        assert checks_by_id()[check_id].certainty is Certainty.MEMORY
    assert checks_by_id()["top-rails"].certainty is Certainty.READ


@pytest.mark.parametrize(
    ("check_id", "about", "asked"),
    [
        ("height-marks", {"use": "export", "high": True}, True),
        ("height-marks", {"use": "export", "high": None}, True),
        ("height-marks", {"use": "export", "high": False}, False),
        ("height-marks", {"use": "storage", "high": True}, False),
        ("roof-cover", {"family": "U"}, True),
        ("roof-cover", {"family": "G"}, False),
        ("roof-cover", {"family": None}, True),
        ("scrapes", {"provenance": "used"}, False),
        ("scrapes", {"provenance": "one-trip"}, True),
        ("scrapes", {"provenance": None}, True),
        ("plate", {"use": "storage", "family": "T", "provenance": "used"}, True),
    ],
)
def test_unit_is_asked_what_it_is_about_and_the_unknown_excludes_nothing(
    check_id: str, about: dict[str, object], asked: bool
) -> None:
    unit = {"use": "storage", "family": "G", "provenance": "used", "high": False} | about
    assert checks_by_id()[check_id].is_about(**unit) is asked  # type: ignore[arg-type]


def test_weather_and_strength_are_shown_by_several_items_each() -> None:
    proves = Counter(check.proves for check in CHECKS)
    assert proves[Proves.WEATHER] >= 5
    assert proves[Proves.STRENGTH] >= 5
