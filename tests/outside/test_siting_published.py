"""Corner loads and ground pressures against worked values, and their units against pint.

The loads and pressures were worked by hand from g = 9.80665 m/s² (CGPM 1901) and four equal
corners: derived. The bare fitting is 178 x 162 mm (ISO 1161): from memory, so that what rests on it
is no surer. Soils: BS 8004:1986 Table 1, a table in the style of the National Building Code of
Canada, IS 1904: each read in one text. The factor 1.25 is common practice.
"""

import pint
import pytest

from shared import siting, soils
from shared.figures import get_figure
from shared.siting_sheet import SitingCase, work_out_siting
from shared.soils import SoilTable
from shared.table_files import Certainty

UREG: pint.UnitRegistry[float] = pint.UnitRegistry()

# kg, kN per corner: derived.
LOADS = [(30_480, 74.73), (2_300, 5.64)]
# kg, pad side in mm, kPa: derived.
PAD_PRESSURES = [(30_480, 300, 830), (30_480, 450, 369), (30_480, 600, 208), (2_300, 300, 62.7)]
# kg, kPa under a bare fitting: derived from a size known from memory.
BARE_PRESSURES = [(30_480, 2591), (2_300, 195.5)]


def decimals(value: float) -> float:
    """Return half a unit in the last place that `value` is published with."""
    places = len(str(value).partition(".")[2])
    return float(0.5 * 10**-places)


@pytest.mark.parametrize(("mass", "load"), LOADS)
def test_load_per_corner_is_the_worked_value(mass: int, load: float) -> None:
    assert siting.corner_load_kn((mass,)) == pytest.approx(load, abs=decimals(load))


@pytest.mark.parametrize(("mass", "pressure"), BARE_PRESSURES)
def test_pressure_under_a_bare_fitting_is_the_worked_value(mass: int, pressure: float) -> None:
    load = siting.corner_load_kn((mass,))
    assert siting.bare_fitting_pressure_kpa(load) == pytest.approx(pressure, abs=decimals(pressure))
    assert get_figure("siting_figures", "fitting-length").certainty is Certainty.MEMORY


@pytest.mark.parametrize(("mass", "side", "pressure"), PAD_PRESSURES)
def test_pressure_under_a_pad_is_the_worked_value(mass: int, side: int, pressure: float) -> None:
    load = siting.corner_load_kn((mass,))
    assert siting.pressure_kpa(load, side, side) == pytest.approx(pressure, abs=decimals(pressure))


@pytest.mark.parametrize("mass", [2_300, 30_480])
def test_loads_and_pressures_agree_with_pint_in_their_units(mass: int) -> None:
    load = (mass * UREG.kilogram * UREG.standard_gravity / 4).to("kilonewton")
    side = 450 * UREG.millimeter
    seen = siting.corner_load_kn((mass,))
    assert seen == pytest.approx(load.magnitude)
    assert siting.pressure_kpa(seen, 450, 450) == pytest.approx(
        (load / side**2).to("kilopascal").magnitude
    )
    least = ((load / (75 * UREG.kilopascal)) ** 0.5).to("millimeter")
    assert siting.least_pad_side_mm(seen, 75) == pytest.approx(least.magnitude)


def test_heaviest_corner_is_a_quarter_more_than_the_average() -> None:
    # 1.25: common practice, no source.
    sheet = work_out_siting(SitingCase((30_480,)))
    average = sheet.get_line("Load per corner, four equal").value
    assert sheet.get_line("Design load, heaviest corner").value == pytest.approx(1.25 * average)


@pytest.mark.parametrize(
    ("table", "values"),
    [
        (  # BS 8004:1986 Table 1, kN/m²: one text. None: no low end ("less than", "investigate").
            SoilTable.BS_8004,
            {
                "dense-gravel": 600,
                "medium-dense-gravel": 200,
                "loose-gravel": None,
                "compact-sand": 300,
                "medium-dense-sand": 100,
                "loose-sand": None,
                "hard-clay": 300,
                "stiff-clay": 150,
                "firm-clay": 75,
                "soft-clay": None,
                "very-soft-ground": None,
            },
        ),
        (  # Table in the style of the National Building Code of Canada, kPa: one text.
            SoilTable.CANADA,
            {
                "dense-gravel": 150,
                "loose-gravel": 50,
                "compact-sand": 150,
                "loose-sand": 50,
                "stiff-clay": 150,
                "firm-clay": 75,
                "soft-clay": 40,
            },
        ),
        (  # IS 1904, kN/m²: one text.
            SoilTable.IS_1904,
            {
                "dense-gravel": 440,
                "loose-gravel": 245,
                "compact-coarse-sand": 440,
                "compact-medium-sand": 245,
                "loose-fine-sand": 100,
                "hard-clay": 440,
                "medium-clay": 245,
                "firm-clay": 150,
                "soft-clay": 100,
                "very-soft-clay": 50,
                "peat": None,
            },
        ),
    ],
)
def test_bearing_values_are_the_low_ends_of_the_published_ranges(
    table: SoilTable, values: dict[str, float | None]
) -> None:
    found = soils.list_soils(table)
    assert {soil.name: soil.low_kpa for soil in found} == values
    assert all(soil.certainty is Certainty.ONE_TEXT for soil in found)


def test_upper_ends_of_bs_8004_are_the_published_ones() -> None:
    highs = {soil.name: soil.high_kpa for soil in soils.list_soils(SoilTable.BS_8004)}
    assert highs == {
        "dense-gravel": None,
        "medium-dense-gravel": 600,
        "loose-gravel": 200,
        "compact-sand": None,
        "medium-dense-sand": 300,
        "loose-sand": 100,
        "hard-clay": 600,
        "stiff-clay": 300,
        "firm-clay": 150,
        "soft-clay": 75,
        "very-soft-ground": None,
    }


@pytest.mark.parametrize(
    ("length", "along"), [(10, 2787), (20, 5853), (30, 8918), (40, 11_985), (45, 13_509)]
)
def test_corner_centres_are_those_of_iso_668(length: int, along: int) -> None:
    # ISO 668, centre distances: from memory.
    sheet = work_out_siting(SitingCase((2_300,), length_ft=length))
    line = sheet.get_line("Pad centres along the unit")
    assert (line.value, line.certainty) == (along, Certainty.MEMORY)
    assert sheet.get_line("Pad centres across the unit").value == 2259
