"""`alerts`: list what falls due."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import AsJson, write_json_list, write_table
from tracker.services.listings import open_alerts

EXAMPLES: Final = "Examples:\n\nhardstand alerts --depot NORTH\n\nhardstand alerts --json"


def alerts(
    ctx: typer.Context,
    *,
    depot: Annotated[str | None, typer.Option(help="Code of the depot.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the open alerts, the soonest due first. The daily round raises them."""
    with services(ctx) as running:
        standing = open_alerts(running.context(Role.READER), depot)
    if as_json:
        write_json_list(standing)
        return
    rows = [
        (one["due_on"], one["kind"], one["mark"], one["depot"], one["role"], one["says"])
        for one in standing
    ]
    headings = ("Due", "Kind", "Unit", "Depot", "For", "What")
    write_table(headings, rows, none="No alert stands.")
