"""Every limit of the control table, written out again, at, below and above it.

Source: CSC Annex III 4.1 (the mandatory control annex), the same table as in CSC.1/Circ.138/Rev.1.
Rails and header were read in two texts, the sill's 100 mm and the fitting's 66 mm in one; sill
otherwise, corner post, fittings, understructure and locking rods are from memory.
"""

from decimal import Decimal

import pytest

from shared.structural_limits import LIMITS, Component, Level, Measure, assess
from shared.table_files import Certainty

TENTH = Decimal("0.1")

# (component, measure, serious above, restricted above), mm; None where there is no such column.
ABOVE = [
    ("top rail", "deformation", "60", "40"),
    ("top rail", "crack", "45", "10"),
    ("bottom rail", "deformation", "100", "60"),
    ("bottom rail", "crack in upper flange", "75", "25"),
    ("bottom rail", "crack in web", "75", "0"),
    ("header", "deformation", "80", "50"),
    ("header", "crack", "80", "10"),
    ("sill", "deformation", "100", "60"),
    ("sill", "crack", "100", "10"),
    ("corner post", "deformation", "50", "30"),
    ("corner post", "crack", "50", "0"),
    ("fitting", "out of plane", "5", None),
    ("fitting", "aperture width", "66.0", None),
    ("fitting", "aperture length", "127.0", None),
    ("fitting", "weld separation", "50", "0"),
    ("fitting", "through crack", "0", None),
]
# (component, measure, least serious count, least restricted count)
COUNTS = [
    ("fitting", "missing", 1, None),
    ("fitting", "does not engage", 1, None),
    ("understructure", "adjacent cross members lost", 2, None),
    ("understructure", "share of cross members lost", 20, None),
    ("understructure", "cross members lost", None, 1),
    ("understructure", "cross members cracked", None, 3),
    ("locking rods", "inner rods not working", 1, None),
    ("locking rods", "outer rods not working", None, 1),
]


def level(component: str, measure: str, value: Decimal | int) -> Level:
    return assess(Component(component), Measure(measure), value).level


@pytest.mark.parametrize(("component", "measure", "serious", "restricted"), ABOVE)
def test_serious_only_above_its_limit(
    component: str, measure: str, serious: str, restricted: str | None
) -> None:
    limit = Decimal(serious)
    within = Level.RESTRICTED if restricted is not None else Level.NEITHER
    assert level(component, measure, limit + TENTH) is Level.SERIOUS
    assert level(component, measure, limit + 1) is Level.SERIOUS
    assert level(component, measure, limit) is within
    if limit:
        assert level(component, measure, limit - TENTH) is within


@pytest.mark.parametrize(
    ("component", "measure", "restricted"),
    [(part, measure, low) for part, measure, _, low in ABOVE if low is not None],
)
def test_restricted_only_above_its_limit(component: str, measure: str, restricted: str) -> None:
    limit = Decimal(restricted)
    assert level(component, measure, limit + TENTH) is Level.RESTRICTED
    assert level(component, measure, limit) is Level.NEITHER
    if limit:
        assert level(component, measure, limit - TENTH) is Level.NEITHER


@pytest.mark.parametrize(
    ("thickness", "expected"),
    [
        ("22.9", Level.SERIOUS),
        ("23.0", Level.RESTRICTED),
        ("24.9", Level.RESTRICTED),
        ("25", Level.NEITHER),
        ("28", Level.NEITHER),
    ],
)
def test_top_plate_is_too_thin_only_below_its_limits(thickness: str, expected: Level) -> None:
    assert level("fitting", "top plate thickness", Decimal(thickness)) is expected


@pytest.mark.parametrize(("component", "measure", "serious", "restricted"), COUNTS)
def test_counts_bite_from_their_number_on(
    component: str, measure: str, serious: int | None, restricted: int | None
) -> None:
    number = serious or restricted
    reached = Level.SERIOUS if serious else Level.RESTRICTED
    assert level(component, measure, number) is reached
    assert level(component, measure, number + 1) is reached
    assert level(component, measure, number - 1) is Level.NEITHER


def test_the_table_holds_these_limits_and_no_others() -> None:
    here = {("fitting", "top plate thickness", one) for one in ("serious", "restricted")}
    for component, measure, serious, restricted in [*ABOVE, *COUNTS]:
        if serious is not None:
            here.add((component, measure, "serious"))
        if restricted is not None:
            here.add((component, measure, "restricted"))
    assert {(lim.component, lim.measure, lim.level) for lim in LIMITS} == here
    assert len(LIMITS) == len(here)


def test_each_limit_says_how_sure_it_is() -> None:
    surer = {Component.TOP_RAIL, Component.BOTTOM_RAIL, Component.HEADER}
    one_text = {
        (Component.SILL, Measure.DEFORMATION, 100),
        (Component.FITTING, Measure.APERTURE_WIDTH, 66),
    }
    for limit in LIMITS:
        if limit.component in surer:
            expected = Certainty.READ
        elif (limit.component, limit.measure, limit.value) in one_text:
            expected = Certainty.ONE_TEXT
        else:
            expected = Certainty.MEMORY
        assert limit.certainty is expected, limit
