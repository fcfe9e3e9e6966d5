"""The worked sheet for standing a unit, or a stack, on its four corners."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from shared import cautions, siting
from shared.figures import Figure, get_figure
from shared.quantities import QuantityError, require_between
from shared.soils import Soil
from shared.table_files import Certainty, TableRow, load_table
from shared.worksheets import Given, Line, Worksheet, weakest

_MECHANICS: Final = "mechanics"
_GEOMETRY: Final = "geometry"
_HIGHEST_STACK: Final = 12

PAD_TO_MAKE: Final = "Side of the pad to make"
"""The name of the line that says which pad to make."""


@dataclass(frozen=True, slots=True)
class ProvenGround:
    """A bearing value found by a test on the spot, which stands above any table."""

    bearing_kpa: float
    words: str = "bearing value given, found by a test"


@dataclass(frozen=True, slots=True)
class SitingCase:
    """What the sheet is to be worked out for; each part after the first may be left open."""

    masses_kg: tuple[int, ...]
    """Gross mass of each unit of the stack, bottom first, whole kg."""
    ground: Soil | ProvenGround | None = None
    pad_mm: int | None = None
    """Side of square pads at hand, whose pressure is wanted."""
    length_ft: int | None = None
    """Length of the unit, for laying out the pads."""
    levels_mm: siting.Levels | None = None


@cache
def _corner_centres() -> Mapping[int, TableRow]:
    return MappingProxyType({int(row["length_ft"]): row for row in load_table("corner_centres")})


def _figure(name: str) -> Figure:
    return get_figure("siting_figures", name)


def work_out_siting(case: SitingCase) -> Worksheet:
    """Return the sheet: loads, pressures, and as far as given pads, layout, levels and stack.

    Raises:
        QuantityError: a number cannot be, or no corner centres are known for the length.
        SoilHasNoSafeValueError: the soil's table gives no value to rely on.
    """
    require_between("The number of units", len(case.masses_kg), "", 1, _HIGHEST_STACK)
    lines = tuple(_list_lines(case))
    return Worksheet(
        title="Siting of a unit on its four corners",
        inputs=tuple(_list_inputs(case)),
        lines=lines,
        assumptions=tuple(_list_assumptions(case)),
        cautions=tuple(_list_cautions(case, lines)),
    )


def _list_cautions(case: SitingCase, lines: tuple[Line, ...]) -> Iterator[str]:
    yield cautions.SITING
    if _is_stack(case):
        yield cautions.STACKING
    # All lengths are equally wide, so that pads meet across the unit first.
    across_mm = min(float(row["across_mm"]) for row in _corner_centres().values())
    if any(line.name == PAD_TO_MAKE and line.value >= across_mm for line in lines):
        yield "Pads of this size run into each other: the ground needs a slab or other support."


def _is_stack(case: SitingCase) -> bool:
    return len(case.masses_kg) > 1


def _list_inputs(case: SitingCase) -> Iterator[Given]:
    yield Given("Gross mass", case.masses_kg[0], "kg")
    for number, mass in enumerate(case.masses_kg[1:], start=2):
        yield Given(f"Gross mass of unit {number} of the stack", mass, "kg")
    match case.ground:
        case Soil():
            yield Given("Soil", case.ground.words)
            yield Given("Table of bearing values", case.ground.table.value)
        case ProvenGround():
            yield Given("Ground", case.ground.words)
        case None:
            pass
    if case.pad_mm is not None:
        yield Given("Side of the pads at hand", case.pad_mm, "mm")
    if case.length_ft is not None:
        yield Given("Length of the unit", case.length_ft, "ft")
    if case.levels_mm is not None:
        yield Given(
            "Heights of the pads, going round", ", ".join(f"{h:g}" for h in case.levels_mm), "mm"
        )


def _list_lines(case: SitingCase) -> Iterator[Line]:
    average = siting.corner_load_kn(case.masses_kg)
    uneven = _figure("uneven-load")
    design = siting.corner_load_kn(case.masses_kg, unevenness=uneven.value)
    yield Line(
        "Load per corner, four equal", average, "kN", "F = m · g / 4", _MECHANICS, Certainty.DERIVED
    )
    yield Line(
        "Design load, heaviest corner",
        design,
        "kN",
        f"F = {uneven.value:g} · m · g / 4",
        uneven.source,
        uneven.certainty,
    )
    yield from _list_bare_pressures(average, design)
    if case.pad_mm is not None:
        yield from _list_pad_pressures(case.pad_mm, average, design)
    if case.ground is not None:
        yield from _list_pad_sizes(case.ground, design)
    if case.length_ft is not None:
        yield from _list_layout(case.length_ft)
    if case.levels_mm is not None:
        yield from _list_levels(case.levels_mm)
    if _is_stack(case):
        yield from _list_offsets()


def _list_bare_pressures(average: float, design: float) -> Iterator[Line]:
    length, width = _figure("fitting-length"), _figure("fitting-width")
    formula = f"p = F / ({length.value:g} mm · {width.value:g} mm)"
    basis = (length.source, length.certainty)
    for name, load, source, certainty in _list_loads(average, design, basis):
        value = siting.bare_fitting_pressure_kpa(load)
        yield Line(
            f"Pressure under a bare fitting, {name}", value, "kPa", formula, source, certainty
        )


def _list_pad_pressures(pad_mm: int, average: float, design: float) -> Iterator[Line]:
    for name, load, source, certainty in _list_loads(
        average, design, (_MECHANICS, Certainty.DERIVED)
    ):
        value = siting.pressure_kpa(load, pad_mm, pad_mm)
        yield Line(f"Pressure under the pad, {name}", value, "kPa", "p = F / a²", source, certainty)


def _list_loads(
    average: float, design: float, basis: tuple[str, Certainty]
) -> Iterator[tuple[str, float, str, Certainty]]:
    """Yield both loads with name, kN, and what a result rests on that rests on `basis` too."""
    source, certainty = basis
    uneven = _figure("uneven-load")
    yield "four equal", average, source, certainty
    yield (
        "heaviest corner",
        design,
        f"{source}; {uneven.source}",
        weakest((certainty, uneven.certainty)),
    )


def _list_pad_sizes(ground: Soil | ProvenGround, design: float) -> Iterator[Line]:
    if isinstance(ground, Soil):
        bearing, source, certainty = ground.get_safe_bearing_kpa(), ground.source, ground.certainty
        formula = "low end of the table's range"
    else:
        bearing, source, certainty = ground.bearing_kpa, ground.words, Certainty.ONE_TEXT
        formula = "as given"
    least = siting.least_pad_side_mm(design, bearing)
    uneven, step = _figure("uneven-load"), _figure("pad-step")
    yield Line("Bearing value relied on", bearing, "kPa", formula, source, certainty)
    yield Line(
        "Least side of a square pad",
        least,
        "mm",
        "a = √(F / p), F the design load",
        f"{_MECHANICS}; {source}; {uneven.source}",
        weakest((certainty, uneven.certainty)),
    )
    yield Line(
        PAD_TO_MAKE,
        siting.pad_side_to_make_mm(least),
        "mm",
        f"next {step.value:g} mm, never less than the fitting",
        step.source,
        weakest((certainty, uneven.certainty, step.certainty)),
    )


def _list_layout(length_ft: int) -> Iterator[Line]:
    row = _corner_centres().get(length_ft)
    if row is None:
        known = tuple(_corner_centres())
        raise QuantityError(
            "A length with known corners", length_ft, "ft", (min(known), max(known))
        )
    along, across = int(row["along_mm"]), int(row["across_mm"])
    yield Line("Pad centres along the unit", along, "mm", "table", row.source, row.certainty)
    yield Line("Pad centres across the unit", across, "mm", "table", row.source, row.certainty)
    yield Line(
        "Pad centres, both diagonals",
        siting.pad_diagonal_mm(along, across),
        "mm",
        "d = √(l² + w²), equal when square",
        f"{_GEOMETRY}; {row.source}",
        row.certainty,
    )


def _list_levels(levels_mm: siting.Levels) -> Iterator[Line]:
    corners = ("front left", "front right", "rear right", "rear left")
    for corner, packing in zip(corners, siting.packing_mm(levels_mm), strict=True):
        yield Line(
            f"Packing, {corner}",
            packing,
            "mm",
            "highest pad less this pad",
            "CTU Code Annex 5 2.2: level",
            Certainty.ONE_TEXT,
        )
    yield Line(
        "Twist, one pad off the plane of three",
        siting.twist_mm(levels_mm),
        "mm",
        "t = |h₁ + h₃ - h₂ - h₄|",
        _GEOMETRY,
        Certainty.DERIVED,
    )


def _list_offsets() -> Iterator[Line]:
    for way in ("lateral", "longitudinal"):
        figure = _figure(f"stack-offset-{way}")
        yield Line(
            f"Greatest {way} offset in the stack",
            figure.value,
            "mm",
            "corner on corner",
            figure.source,
            figure.certainty,
        )


def _list_assumptions(case: SitingCase) -> Iterator[str]:
    clearance = _figure("base-clearance")
    yield "The unit stands level on its four corner fittings only, on firm ground clear of debris."
    yield (
        "It is raised off the ground on its pads: the base lies only about "
        f"{clearance.value:g} mm above the fittings ({clearance.certainty.value}), so that "
        "fittings which sink let it touch earth and water."
    )
    yield "The load is at rest, and each pad is stiff enough to spread it evenly and is not tilted."
    if case.ground is not None:
        yield "Settlement, frost and the effect of neighbouring pads are not worked out."
    if isinstance(case.ground, Soil):
        yield "The bearing value comes from the one table named and is preliminary."
    if _is_stack(case):
        yield "The stack stands corner on corner; wind on it is not worked out."
