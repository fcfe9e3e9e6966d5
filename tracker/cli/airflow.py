"""`airflow`: print how many louvres give a unit a wanted number of air changes."""

from __future__ import annotations

from typing import Annotated

import typer

from shared.airflow_case import (
    AirflowCase,
    Arrangement,
    Louvre,
    Warmth,
    Wind,
)
from shared.airflow_sheet import work_out_airflow
from shared.errors import KnowledgeError
from tracker.cli.sheet import print_sheet


def airflow(  # noqa: PLR0913 - one argument per option of the command
    *,
    volume: Annotated[float, typer.Option(help="Volume of air in the unit, m³.")],
    changes: Annotated[float, typer.Option(help="Air changes wanted, per hour.")],
    louvre: Annotated[str, typer.Option(help="Face of one louvre, width x height in mm: 300x200.")],
    ratio: Annotated[
        float,
        typer.Option(help="Share of the face that is open, by the maker; 0.3 to 0.6 is common."),
    ] = 0.3,
    arrangement: Annotated[
        Arrangement,
        typer.Option(help="Low and high on opposite sides (cross), or all in one side."),
    ] = Arrangement.CROSS,
    wind: Annotated[float | None, typer.Option(help="Wind at the louvres, m/s.")] = None,
    pressure_difference: Annotated[
        float | None,
        typer.Option(
            help="Difference of wind pressure coefficients between the two sides, no unit; "
            "needed with --wind for cross ventilation. Less where other units give shelter."
        ),
    ] = None,
    inside: Annotated[float | None, typer.Option(help="Temperature inside, °C.")] = None,
    outside: Annotated[float | None, typer.Option(help="Temperature outside, °C.")] = None,
    height: Annotated[
        float | None,
        typer.Option(help="Height from the low to the high louvres, middle to middle, m."),
    ] = None,
    small_vents: Annotated[
        int, typer.Option(help="Small vents on the unit; shown, not counted.")
    ] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Work out the louvres that give a unit a wanted number of air changes per hour."""
    try:
        case = AirflowCase(
            volume_m3=volume,
            changes_per_h=changes,
            louvre=_read_louvre(louvre, ratio),
            arrangement=arrangement,
            wind=_read_wind(wind, pressure_difference),
            warmth=_read_warmth(inside, outside, height),
            small_vents=small_vents,
        )
        sheet = work_out_airflow(case)
    except KnowledgeError as fault:
        raise typer.BadParameter(str(fault)) from fault
    print_sheet(sheet, as_json=as_json)


def _read_louvre(text: str, ratio: float) -> Louvre:
    try:
        width, height = (float(each) for each in text.lower().split("x"))
    except ValueError as fault:
        raise typer.BadParameter(
            f"--louvre {text!r} is not a width and a height in mm, such as 300x200."
        ) from fault
    return Louvre(width, height, ratio)


def _read_wind(speed: float | None, difference: float | None) -> Wind | None:
    if speed is not None:
        return Wind(speed, difference)
    if difference is not None:
        raise typer.BadParameter("--pressure-difference needs --wind.")
    return None


def _read_warmth(
    inside: float | None, outside: float | None, height: float | None
) -> Warmth | None:
    if inside is not None and outside is not None:
        return Warmth(inside, outside, height)
    if inside is not None or outside is not None:
        raise typer.BadParameter("--inside and --outside go together.")
    if height is not None:
        raise typer.BadParameter("--height needs --inside and --outside.")
    return None
