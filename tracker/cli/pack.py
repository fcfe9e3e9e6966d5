"""`pack`: the plate pack of one unit, today or as it was, also after it has left."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.moments import read_moment
from tracker.cli.output import AsJson, end, say
from tracker.cli.paper_files import Out, keep
from tracker.papers.plate_pack import PlatePack, hindrances, plate_pack_json, plate_pack_pdf
from tracker.services.plate_packs import pack_of
from tracker.services.unit_view import show_unit

EXAMPLES: Final = (
    "Examples:\n\nhardstand pack CSQU3054383\n\n"
    "hardstand pack CSQU3054383 --out pack.pdf\n\n"
    "hardstand pack CSQU3054383 --as-of 2026-03-01T12:00:00Z --json --out pack.json"
)


def pack(
    ctx: typer.Context,
    mark: Annotated[
        str, typer.Argument(help="Any mark it ever bore, a tag #DEPOT/TAG, or its id.")
    ],
    *,
    out: Out = None,
    as_of: Annotated[str | None, typer.Option(help="What was true at this moment.")] = None,
    as_json: AsJson = False,
) -> None:
    """Say whether a unit's plate pack is complete, and write it as PDF, or as JSON.

    Fine when it is complete.
    """
    true = None if as_of is None else read_moment(as_of)
    with services(ctx) as running:
        context = running.context(Role.WEB)
        view = show_unit(context, mark, as_of=true)
        made = pack_of(context, view, as_of=true)
        content = plate_pack_json(made) if as_json else plate_pack_pdf(made)
    _tell(made, content, out, as_json=as_json)
    end(well=not made.missing)


def _tell(made: PlatePack, content: bytes, out: Path | None, *, as_json: bool) -> None:
    if out is not None:
        keep(content, out)
    if as_json:
        if out is None:
            typer.echo(content)
        return
    name = made.unit.mark or made.unit.tag or "The unit"
    if not made.missing:
        say(f"{name}: the plate pack is complete.")
    else:
        say(f"{name}: the plate pack is NOT complete. It lacks:")
        for lack in made.missing:
            say(f"  {lack}")
    for says in hindrances(made):
        say(f"Against a journey: {says}")
