"""`verify`: prove that no history was altered."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.moments import read_moment
from tracker.cli.output import AsJson, end, write_json, write_table
from tracker.services.verify import Verification, moment_of
from tracker.services.verify import verify as walk

EXAMPLES: Final = (
    "Examples:\n\nhardstand verify\n\n"
    "hardstand verify --root 9f86d081884c7d65... --at 2026-03-02T08:00:00.000000+00:00"
)


def verify(
    ctx: typer.Context,
    *,
    root: Annotated[
        str | None, typer.Option(metavar="HEX", help="The root that all histories must have.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(metavar="MOMENT", help="What the root is of, as the mail says beside it."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Walk every history along its digests; status 1 names each row that is not as it was."""
    expected = None if root is None else root.strip().lower()
    moment = None if at is None else read_moment(at)
    with services(ctx) as running:
        context = running.context(Role.WORKER)
        if moment is None and expected is not None:
            moment = moment_of(context, expected)
        found = walk(context, at=moment)
    is_root = expected in (None, found.root_at or found.root)
    if as_json:
        write_json({**asdict(found), "root_as_expected": is_root})
    else:
        _show(found, is_root=is_root)
    end(well=is_root and not found.flaws)


def _show(found: Verification, *, is_root: bool) -> None:
    if found.flaws:
        rows = [(one.stream_id, one.seq, one.event_id, one.says) for one in found.flaws]
        write_table(("Unit", "Row", "Event", "What is wrong"), rows, none="")
    flaws = f"{len(found.flaws)} flaws" if found.flaws else "all unaltered"
    typer.echo(f"{found.streams} histories, {found.rows} rows: {flaws}.")
    typer.echo(f"Root of all: {found.root}")
    if found.root_at is not None:
        typer.echo(f"Root as of that moment: {found.root_at}")
    if not is_root:
        typer.echo("That is not the root that was expected.")
