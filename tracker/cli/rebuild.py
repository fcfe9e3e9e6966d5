"""`rebuild`: make every record anew from its history."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, write_json
from tracker.judge.fold import FOLD_VERSION
from tracker.services.rebuild import rebuild as fold_all

EXAMPLES: Final = "Examples:\n\nhardstand rebuild --check\n\nhardstand rebuild"


def rebuild(
    ctx: typer.Context,
    *,
    check: Annotated[
        bool, typer.Option("--check", help="Only say what differs; status 1 if anything does.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Fold every history into its record, and write those that differ."""
    with services(ctx) as running:
        found = fold_all(running.context(Role.WORKER), check_only=check)
    if as_json:
        write_json(
            {
                "units": found.units,
                "orders": found.orders,
                "differing": list(map(str, found.differing)),
                "made_by_fold": found.made_by,
                "fold": FOLD_VERSION,
            }
        )
    else:
        if found.is_of_another_fold:
            typer.echo(
                f"The records were made by fold {found.made_by}; this program's is {FOLD_VERSION}."
            )
        for stream_id in found.differing:
            typer.echo(f"The record of {stream_id} is not what its history adds up to.")
        done = "differ" if check else "differed and were written anew"
        typer.echo(f"{found.units} units, {found.orders} orders: {len(found.differing)} {done}.")
    end(well=not (check and found.differing))
