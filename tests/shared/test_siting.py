import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import cautions, siting, soils
from shared.quantities import QuantityError
from shared.siting_sheet import ProvenGround, SitingCase, work_out_siting
from shared.soils import SoilHasNoSafeValueError, SoilTable, SoilUnknownError
from shared.table_files import Certainty, load_table
from shared.worksheets import WorksheetError

masses = st.integers(1, 60_000)


@settings(derandomize=True, max_examples=60)
@given(mass=masses, above=st.lists(masses, max_size=3), factor=st.floats(1, 4))
def test_load_per_corner_is_the_stack_shared_by_four(
    mass: int, above: list[int], factor: float
) -> None:
    load = siting.corner_load_kn((mass, *above), unevenness=factor)
    assert load * 4 * 1000 / 9.80665 / factor == pytest.approx(mass + sum(above))


@pytest.mark.parametrize("mass", [0, -1, 1_000_000])
def test_load_of_no_possible_mass_is_refused(mass: int) -> None:
    with pytest.raises(QuantityError):
        siting.corner_load_kn((20_000, mass))


@pytest.mark.parametrize("factor", [0.99, 4.01, float("nan")])
def test_uneven_load_beyond_one_corner_bearing_all_is_refused(factor: float) -> None:
    with pytest.raises(QuantityError):
        siting.corner_load_kn((20_000,), unevenness=factor)


def test_pressure_counts_both_sides_of_the_pad() -> None:
    assert siting.pressure_kpa(60, 300, 400) == pytest.approx(500)
    with pytest.raises(QuantityError):
        siting.pressure_kpa(60, 300, 0)
    with pytest.raises(QuantityError):
        siting.pressure_kpa(60, 10_001, 300)


@settings(derandomize=True, max_examples=60)
@given(load=st.floats(1, 400), bearing=st.floats(20, 600))
def test_least_pad_brings_the_ground_to_just_its_bearing_value(load: float, bearing: float) -> None:
    side = siting.least_pad_side_mm(load, bearing)
    made = siting.pad_side_to_make_mm(side)
    assert load / (side / 1000) ** 2 == pytest.approx(bearing)
    assert made % 50 == 0
    assert max(side, 178) <= made < max(side, 178) + 50


@pytest.mark.parametrize("bearing", [0, -5, float("inf")])
def test_bearing_value_that_cannot_be_is_refused(bearing: float) -> None:
    with pytest.raises(QuantityError):
        siting.least_pad_side_mm(70, bearing)


def test_pad_to_make_holds_the_fitting_however_firm_the_ground() -> None:
    assert siting.pad_side_to_make_mm(1) == 200
    assert siting.pad_side_to_make_mm(200) == 200
    assert siting.pad_side_to_make_mm(201) == 250


def test_packing_lifts_each_pad_to_the_highest() -> None:
    assert siting.packing_mm((0, 3, -2, 5)) == (5, 2, 7, 0)
    with pytest.raises(QuantityError):
        siting.packing_mm((0, 0, 0, 1001))


def test_twist_is_nothing_on_an_even_slope_and_all_of_one_low_corner() -> None:
    assert siting.twist_mm((0, 10, 30, 20)) == 0
    assert siting.twist_mm((0, 0, -8, 0)) == 8
    assert siting.twist_mm((0, 3, -2, 5)) == 10


@pytest.mark.parametrize(
    ("lateral", "longitudinal", "allowed"),
    [(25, 38, True), (-25, -38, True), (25.1, 0, False), (0, 38.1, False), (0, -39, False)],
)
def test_offset_in_a_stack_is_allowed_up_to_its_limits(
    lateral: float, longitudinal: float, allowed: bool
) -> None:
    assert siting.is_offset_allowed(lateral, longitudinal) is allowed


def test_soil_is_read_from_its_own_table_only() -> None:
    assert soils.get_soil(SoilTable.BS_8004, "firm-clay").get_safe_bearing_kpa() == 75
    assert soils.get_soil(SoilTable.IS_1904, "firm-clay").get_safe_bearing_kpa() == 150
    with pytest.raises(SoilUnknownError) as fault:
        soils.get_soil(SoilTable.CANADA, "medium-dense-sand")
    assert fault.value.known == tuple(each.name for each in soils.list_soils(SoilTable.CANADA))
    assert "medium-dense-sand" not in fault.value.known


@pytest.mark.parametrize("table", SoilTable)
def test_each_table_of_soils_names_each_soil_once_with_a_range_that_rises(table: SoilTable) -> None:
    found = soils.list_soils(table)
    assert found
    assert len({soil.name for soil in found}) == len(found)
    for soil in found:
        assert soil.low_kpa is None or soil.high_kpa is None or soil.low_kpa <= soil.high_kpa


@pytest.mark.parametrize(
    ("table", "soil", "says"),
    [
        (SoilTable.BS_8004, "loose-sand", "less than 100 kPa"),
        (SoilTable.BS_8004, "very-soft-ground", "to investigate"),
        (SoilTable.IS_1904, "peat", "to investigate"),
    ],
)
def test_soil_without_a_low_end_gives_no_value_to_rely_on(
    table: SoilTable, soil: str, says: str
) -> None:
    case = SitingCase((2300,), ground=soils.get_soil(table, soil))
    with pytest.raises(SoilHasNoSafeValueError, match=says):
        work_out_siting(case)


def test_sheet_sizes_the_pad_for_the_heaviest_corner() -> None:
    soil = soils.get_soil(SoilTable.CANADA, "stiff-clay")
    sheet = work_out_siting(SitingCase((30_480,), ground=soil))
    design = sheet.get_line("Design load, heaviest corner")
    assert design.value == pytest.approx(1.25 * 74.7267, abs=1e-3)
    assert design.certainty is Certainty.PRACTICE
    assert sheet.get_line("Bearing value relied on").value == 150
    # √(93.408 kN / 150 kPa) = 0.78913 m
    assert sheet.get_line("Least side of a square pad").value == pytest.approx(789.13, abs=0.01)
    made = sheet.get_line("Side of the pad to make")
    assert (made.value, made.unit, made.certainty) == (800, "mm", Certainty.PRACTICE)
    assert sheet.cautions == (cautions.SITING,)
    assert any(given.value == "canada" for given in sheet.inputs)
    with pytest.raises(WorksheetError):
        sheet.get_line("Pad centres along the unit")


def test_sheet_of_a_stack_adds_the_masses_and_tells_the_offsets() -> None:
    sheet = work_out_siting(SitingCase((20_000, 2_300, 2_300)))
    average = sheet.get_line("Load per corner, four equal").value
    assert average == pytest.approx(24_600 * 9.80665 / 4000)
    assert sheet.get_line("Greatest lateral offset in the stack").value == 25
    assert sheet.get_line("Greatest longitudinal offset in the stack").value == 38
    assert sheet.cautions == (cautions.SITING, cautions.STACKING)
    assert [given.value for given in sheet.inputs] == [20_000, 2_300, 2_300]


def test_sheet_with_pad_length_and_levels_shows_pressure_layout_and_packing() -> None:
    sheet = work_out_siting(
        SitingCase(
            (30_480,),
            ground=ProvenGround(400),
            pad_mm=600,
            length_ft=20,
            levels_mm=(0, 3, -2, 5),
        )
    )
    assert sheet.get_line("Pressure under the pad, heaviest corner").value == pytest.approx(
        1.25 * sheet.get_line("Pressure under the pad, four equal").value
    )
    assert sheet.get_line("Pad centres along the unit").value == 5853
    assert sheet.get_line("Pad centres across the unit").value == 2259
    assert sheet.get_line("Pad centres, both diagonals").value == pytest.approx(6273.8, abs=0.05)
    packing = [line.value for line in sheet.lines if line.name.startswith("Packing")]
    assert packing == [5, 2, 7, 0]
    assert sheet.get_line("Twist, one pad off the plane of three").value == 10
    assert sheet.get_line("Bearing value relied on").value == 400


def test_sheet_warns_when_pads_would_run_into_each_other() -> None:
    weak = work_out_siting(SitingCase((30_480,), ground=ProvenGround(18)))
    firm = work_out_siting(SitingCase((30_480,), ground=ProvenGround(20)))
    assert weak.get_line("Side of the pad to make").value == 2300
    assert any("slab" in caution for caution in weak.cautions)
    assert not any("slab" in caution for caution in firm.cautions)


@pytest.mark.parametrize(
    "case",
    [
        SitingCase(()),
        SitingCase((2300,) * 13),
        SitingCase((2300,), length_ft=25),
        SitingCase((2300,), pad_mm=0),
        SitingCase((2300,), ground=ProvenGround(float("nan"))),
    ],
)
def test_sheet_of_what_cannot_be_is_refused(case: SitingCase) -> None:
    with pytest.raises(QuantityError):
        work_out_siting(case)


def test_every_sheet_says_level_on_four_corners_and_raised_off_the_ground() -> None:
    words = " ".join(work_out_siting(SitingCase((2300,))).assumptions)
    assert "level on its four corner fittings" in words
    assert "raised off the ground" in words


@pytest.mark.parametrize("name", ["siting_figures", "corner_centres", "soils"])
def test_every_row_of_the_siting_tables_names_its_source(name: str) -> None:
    assert all(row.source for row in load_table(name))
