import pytest

from shared import cautions, handling
from shared.handling import LiftMethod, LiftVerdict, Load, PocketMatch
from shared.quantities import QuantityError
from shared.table_files import Certainty, load_table

# One letter per cell, lengths 10, 20, 40, 45 ft: y yes, i if, n no.
EMPTY = {
    LiftMethod.TOP_SPREADER: "yyyy",
    LiftMethod.SIDE_FRAME: "yyyy",
    LiftMethod.END_FRAME: "yynn",
    LiftMethod.TOP_SLING: "yyyy",
    LiftMethod.BOTTOM_SLING: "yyyy",
    LiftMethod.FORKS: "iiii",
}
LOADED = {
    LiftMethod.TOP_SPREADER: "yyyy",
    LiftMethod.SIDE_FRAME: "yynn",
    LiftMethod.END_FRAME: "nnnn",
    LiftMethod.TOP_SLING: "ynnn",
    LiftMethod.BOTTOM_SLING: "yyyy",
    LiftMethod.FORKS: "iinn",
}


@pytest.mark.parametrize("method", LiftMethod)
@pytest.mark.parametrize(("load", "expected"), [(Load.EMPTY, EMPTY), (Load.LOADED, LOADED)])
def test_lift_of_each_length_is_answered_as_the_rules_say(
    method: LiftMethod, load: Load, expected: dict[LiftMethod, str]
) -> None:
    seen = "".join(
        handling.judge_lift(method, length, load).verdict.value[0] for length in (10, 20, 40, 45)
    )
    assert seen == expected[method]


@pytest.mark.parametrize(("length", "degrees"), [(10, 60), (20, 45), (30, 37), (40, 30), (45, 30)])
@pytest.mark.parametrize("load", Load)
def test_bottom_sling_has_the_least_angle_of_its_length(
    length: int, degrees: float, load: Load
) -> None:
    answer = handling.judge_lift(LiftMethod.BOTTOM_SLING, length, load)
    assert answer.least_sling_deg == degrees
    assert "38 mm" in answer.condition
    assert handling.is_sling_steep_enough(answer, degrees) is True
    assert handling.is_sling_steep_enough(answer, degrees - 0.1) is False


def test_sling_angle_without_a_rule_is_left_open() -> None:
    answer = handling.judge_lift(LiftMethod.TOP_SLING, 20, Load.EMPTY)
    assert answer.least_sling_deg is None
    assert handling.is_sling_steep_enough(answer, 90) is None


@pytest.mark.parametrize("degrees", [-1, 90.5, float("nan")])
def test_sling_angle_that_cannot_be_is_refused(degrees: float) -> None:
    answer = handling.judge_lift(LiftMethod.TOP_SLING, 10, Load.LOADED)
    with pytest.raises(QuantityError):
        handling.is_sling_steep_enough(answer, degrees)


def test_lift_without_a_rule_is_unknown_and_waits_for_a_person() -> None:
    answer = handling.judge_lift(LiftMethod.SIDE_FRAME, 30, Load.LOADED)
    assert answer.verdict is LiftVerdict.UNKNOWN
    assert answer.certainty is None
    assert "competent person" in answer.condition


@pytest.mark.parametrize("length", [0, -20, 61])
def test_lift_of_no_possible_length_is_refused(length: int) -> None:
    with pytest.raises(QuantityError):
        handling.judge_lift(LiftMethod.FORKS, length, Load.EMPTY)


def test_forks_under_a_loaded_twenty_foot_unit_need_the_outer_pair() -> None:
    answer = handling.judge_lift(LiftMethod.FORKS, 20, Load.LOADED)
    assert "outer pair" in answer.condition
    assert answer.certainty is Certainty.MEMORY


@pytest.mark.parametrize("length", [10, 20, 30, 40, 45, 53])
@pytest.mark.parametrize("load", Load)
def test_every_answer_of_a_length_defers_to_person_plate_and_local_rules(
    length: int, load: Load
) -> None:
    answers = handling.list_lifts(length, load)
    assert [answer.method for answer in answers] == list(LiftMethod)
    for answer in answers:
        assert answer.caution == cautions.LIFTING
    for word in ("competent person", "safety plate", "local rules"):
        assert word in cautions.LIFTING


def test_each_conditional_lift_names_its_condition_and_each_row_is_one_of_its_kind() -> None:
    rows = load_table("lifts")
    keys = {(row["method"], row["length_ft"], row["load"]) for row in rows}
    assert len(keys) == len(rows)
    assert all(row["condition"] for row in rows if row["verdict"] == "if")
    assert all(row["verdict"] in ("yes", "if", "no") for row in rows)


def test_pockets_of_a_twenty_foot_unit_are_an_outer_and_an_inner_pair() -> None:
    outer, inner = handling.list_pockets(20)
    assert (outer.pair, outer.use) == ("outer", "empty and loaded")
    assert (outer.spacing_mm, outer.tolerance_mm) == (2050, 50)
    assert (outer.width_mm, outer.height_mm) == (355, 115)
    assert (inner.pair, inner.use) == ("inner", "empty only")
    assert (inner.spacing_mm, inner.tolerance_mm) == (900, 50)
    assert (inner.width_mm, inner.height_mm) == (305, 102)


def test_pockets_of_other_lengths() -> None:
    (ten,) = handling.list_pockets(10)
    assert (ten.spacing_mm, ten.width_mm, ten.height_mm) == (900, 305, 102)
    (forty,) = handling.list_pockets(40)
    assert forty.presence == "rare"
    assert forty.match_spacing(2050) is PocketMatch.NEITHER
    assert handling.list_pockets(45) == ()


@pytest.mark.parametrize(
    ("measured", "match"),
    [
        (2000, PocketMatch.CENTRES),
        (2100, PocketMatch.CENTRES),
        (1999, PocketMatch.NEITHER),
        (2101, PocketMatch.NEITHER),
        (1695, PocketMatch.CLEAR_DISTANCE),
        (1720, PocketMatch.CLEAR_DISTANCE),
        (1644, PocketMatch.NEITHER),
        (1746, PocketMatch.NEITHER),
    ],
)
def test_measured_spacing_is_told_apart_from_the_clear_distance(
    measured: float, match: PocketMatch
) -> None:
    outer, _ = handling.list_pockets(20)
    assert outer.match_spacing(measured) is match
