"""`siting`: print what the ground must bear under a unit or a stack, and the pads it needs."""

from __future__ import annotations

from typing import Annotated

import typer

from shared import soils
from shared.errors import KnowledgeError
from shared.siting import Levels
from shared.siting_sheet import ProvenGround, SitingCase, work_out_siting
from shared.soils import Soil, SoilTable
from tracker.cli.sheet import print_sheet


def siting(  # noqa: PLR0913 - one argument per option of the command
    *,
    mass: Annotated[int, typer.Option(help="Gross mass of the bottom unit, whole kg.")],
    above: Annotated[
        list[int] | None,
        typer.Option(help="Gross mass of a unit on top, whole kg; once per unit, going up."),
    ] = None,
    soil: Annotated[
        str | None, typer.Option(help="Soil, by its name in the table; needs --soil-table.")
    ] = None,
    soil_table: Annotated[
        SoilTable | None, typer.Option(help="The one table that bearing values come from.")
    ] = None,
    bearing: Annotated[
        float | None, typer.Option(help="Bearing value found by a test, kPa; instead of a soil.")
    ] = None,
    pad: Annotated[int | None, typer.Option(help="Side of the square pads at hand, mm.")] = None,
    length: Annotated[
        int | None, typer.Option(help="Length of the unit, ft; for laying out the pads.")
    ] = None,
    levels: Annotated[
        str | None,
        typer.Option(
            help="Heights of the four pads over one mark, mm, going round from the front left: "
            "0,3,-2,5."
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Work out corner loads, pressure on the ground, and pads for a unit or a stack."""
    try:
        case = SitingCase(
            masses_kg=(mass, *(above or ())),
            ground=_read_ground(soil, soil_table, bearing),
            pad_mm=pad,
            length_ft=length,
            levels_mm=None if levels is None else _read_levels(levels),
        )
        sheet = work_out_siting(case)
    except KnowledgeError as fault:
        raise typer.BadParameter(str(fault)) from fault
    print_sheet(sheet, as_json=as_json)


def _read_ground(
    soil: str | None, table: SoilTable | None, bearing: float | None
) -> Soil | ProvenGround | None:
    """Return the ground that the three options name, or None when they name none."""
    if bearing is not None:
        if soil is not None or table is not None:
            raise typer.BadParameter("Give either --bearing or --soil with --soil-table, not both.")
        return ProvenGround(bearing)
    if soil is None and table is None:
        return None
    if table is None:
        raise typer.BadParameter("--soil needs --soil-table: the tables differ and are not mixed.")
    if soil is None:
        known = ", ".join(each.name for each in soils.list_soils(table))
        raise typer.BadParameter(f"--soil-table needs --soil, one of {known}.")
    return soils.get_soil(table, soil)


def _read_levels(text: str) -> Levels:
    try:
        front_left, front_right, rear_right, rear_left = (float(each) for each in text.split(","))
    except ValueError as fault:
        raise typer.BadParameter(
            f"--levels {text!r} is not four numbers in mm with commas between, such as 0,3,-2,5."
        ) from fault
    return (front_left, front_right, rear_right, rear_left)
