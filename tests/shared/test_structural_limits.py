"""How the control table is read: levels, restrictions, counts and certainty."""

from decimal import Decimal

import pytest

from shared.structural_limits import (
    LIMITS,
    RESTRICTIONS,
    Component,
    Level,
    Measure,
    MeasurementError,
    assess,
    assess_cross_members,
    assess_locking_rods,
    list_measures,
)
from shared.table_files import Certainty


@pytest.mark.parametrize("component", Component)
def test_every_component_has_limits_and_restrictions(component: Component) -> None:
    assert list_measures(component)
    assert component in RESTRICTIONS


def test_every_measure_is_used() -> None:
    assert {limit.measure for limit in LIMITS} == set(Measure)


@pytest.mark.parametrize("component", Component)
def test_whatever_can_be_measured_is_assessed(component: Component) -> None:
    for measure in list_measures(component):
        assert assess(component, measure, 10_000 if "thick" not in measure else 0).level in (
            Level.SERIOUS,
            Level.RESTRICTED,
        )


def test_serious_names_its_limit_and_no_restriction() -> None:
    found = assess(Component.TOP_RAIL, Measure.DEFORMATION, 61)
    assert found.level is Level.SERIOUS
    assert found.restriction is None
    assert found.decided_by is not None
    assert (int(found.decided_by.value), found.decided_by.unit) == (60, "mm")
    assert found.decided_by.source.startswith("CSC Annex III")


def test_restricted_carries_the_restriction_of_its_component() -> None:
    found = assess(Component.TOP_RAIL, Measure.DEFORMATION, 60)
    assert found.level is Level.RESTRICTED
    assert found.decided_by is not None
    assert found.decided_by.value == 40
    assert found.restriction is RESTRICTIONS[Component.TOP_RAIL]
    assert found.restriction.lifting_empty == ""
    assert "no bottom lifting" in found.restriction.lifting_loaded
    assert (found.restriction.stowing_empty, found.restriction.stowing_loaded) == ("", "")


@pytest.mark.parametrize("component", [Component.HEADER, Component.SILL, Component.CORNER_POST])
def test_weak_ends_carry_nothing_at_sea_and_may_be_lifted(component: Component) -> None:
    restriction = RESTRICTIONS[component]
    assert (restriction.lifting_empty, restriction.lifting_loaded) == ("", "")
    assert "sea" in restriction.stowing_empty
    assert "sea" in restriction.stowing_loaded


def test_within_limits_is_neither_and_says_nothing_more() -> None:
    found = assess(Component.HEADER, Measure.CRACK, 10)
    assert (found.level, found.decided_by, found.restriction) == (Level.NEITHER, None, None)


def test_decimal_parts_of_a_millimetre_count() -> None:
    width = Measure.APERTURE_WIDTH
    assert assess(Component.FITTING, width, Decimal("66.0")).level is Level.NEITHER
    assert assess(Component.FITTING, width, Decimal("66.1")).level is Level.SERIOUS


def test_certainty_is_that_of_the_row_that_decided_when_serious() -> None:
    assert assess(Component.SILL, Measure.DEFORMATION, 101).certainty is Certainty.ONE_TEXT
    assert assess(Component.SILL, Measure.CRACK, 101).certainty is Certainty.MEMORY
    assert assess(Component.TOP_RAIL, Measure.DEFORMATION, 61).certainty is Certainty.READ


@pytest.mark.parametrize("value", [61, 60])
def test_certainty_below_serious_is_that_of_the_weakest_row_used(value: int) -> None:
    assert assess(Component.SILL, Measure.DEFORMATION, value).certainty is Certainty.MEMORY
    assert assess(Component.HEADER, Measure.DEFORMATION, value - 20).certainty is Certainty.READ


def test_measure_that_a_component_does_not_have_is_an_error() -> None:
    with pytest.raises(MeasurementError) as caught:
        assess(Component.TOP_RAIL, Measure.WELD_SEPARATION, 10)
    assert caught.value.component is Component.TOP_RAIL
    assert "deformation, crack" in str(caught.value)


def test_negative_measurement_is_an_error() -> None:
    with pytest.raises(MeasurementError):
        assess(Component.TOP_RAIL, Measure.DEFORMATION, -1)


@pytest.mark.parametrize(
    ("lost", "adjacent", "cracked", "total", "level"),
    [
        (0, 0, 0, 20, Level.NEITHER),
        (1, 1, 0, 20, Level.RESTRICTED),
        (2, 1, 0, 20, Level.RESTRICTED),
        (3, 1, 0, 20, Level.RESTRICTED),
        (2, 2, 0, 20, Level.SERIOUS),
        (4, 1, 0, 20, Level.SERIOUS),
        (4, 1, 0, 21, Level.RESTRICTED),
        (3, 1, 0, 15, Level.SERIOUS),
        (0, 0, 2, 20, Level.NEITHER),
        (0, 0, 3, 20, Level.RESTRICTED),
        (1, 1, 0, 1, Level.SERIOUS),
        (1, 1, 8, 9, Level.RESTRICTED),
    ],
)
def test_cross_members_are_counted(
    lost: int, adjacent: int, cracked: int, total: int, level: Level
) -> None:
    found = assess_cross_members(lost=lost, adjacent=adjacent, cracked=cracked, total=total)
    assert found.level is level
    assert found.certainty is Certainty.MEMORY


@pytest.mark.parametrize(
    ("lost", "adjacent", "cracked", "total"),
    [(1, 2, 0, 20), (1, 0, 0, 20), (-1, -1, 0, 20), (0, 0, -1, 20), (15, 1, 6, 20), (0, 0, 0, 0)],
)
def test_cross_member_counts_that_contradict_are_an_error(
    lost: int, adjacent: int, cracked: int, total: int
) -> None:
    with pytest.raises(MeasurementError):
        assess_cross_members(lost=lost, adjacent=adjacent, cracked=cracked, total=total)


@pytest.mark.parametrize(
    ("inner", "outer", "one_door_off", "level"),
    [
        (0, 0, False, Level.NEITHER),
        (0, 1, False, Level.RESTRICTED),
        (0, 4, False, Level.RESTRICTED),
        (1, 0, False, Level.SERIOUS),
        (1, 1, False, Level.SERIOUS),
        (1, 0, True, Level.RESTRICTED),
        (0, 0, True, Level.NEITHER),
    ],
)
def test_locking_rods_are_counted(inner: int, outer: int, one_door_off: bool, level: Level) -> None:
    assert assess_locking_rods(inner=inner, outer=outer, one_door_off=one_door_off).level is level


@pytest.mark.parametrize(("inner", "outer"), [(-1, 0), (0, -1)])
def test_negative_rods_are_an_error(inner: int, outer: int) -> None:
    with pytest.raises(MeasurementError):
        assess_locking_rods(inner=inner, outer=outer)
