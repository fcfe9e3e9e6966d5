"""`questions`: list what a person must settle."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.output import AsJson, write_json_list, write_table
from tracker.services.listings import open_questions

EXAMPLES: Final = "Examples:\n\nhardstand questions --depot NORTH\n\nhardstand questions --json"


def questions(
    ctx: typer.Context,
    *,
    depot: Annotated[str | None, typer.Option(help="Code of the depot.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the open questions, the oldest first. `answer` settles one by its id."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        asked = open_questions(context, depot)
        time = DepotTime.of(context)
    if as_json:
        write_json_list(asked)
        return
    rows = [
        (
            one["id"][:8],
            one["mark"] or one["tag"],
            one["depot"],
            one["field"],
            time.told(one["asks"], one["depot"]),
        )
        for one in asked
    ]
    headings = ("Question", "Unit", "Depot", "About", "What is to be settled")
    write_table(headings, rows, none="No question is open.")
