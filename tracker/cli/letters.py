"""`letters`: what was not sent and why; let it go again, or drop it."""

from __future__ import annotations

from typing import Annotated, Final
from uuid import UUID

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, write_json_list, write_table
from tracker.services import unsent

EXAMPLES: Final = (
    "Examples:\n\nhardstand letters\n\nhardstand letters send-again\n\n"
    "hardstand letters drop 0190b2c4-7d1e-5c3a-9f00-5b1f0a2c3d4e"
)


def make_letters_group() -> typer.Typer:
    """Return the commands about letters; without a further word they are listed."""
    group = typer.Typer(
        name="letters", invoke_without_command=True, help="What was not sent.", epilog=EXAMPLES
    )
    group.callback()(letters)
    group.command("send-again")(send_again)
    group.command("drop")(drop)
    return group


def letters(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List letters that wait, that nobody gets, or that were given up; status 1 for the latter."""
    if ctx.invoked_subcommand is not None:
        return
    with services(ctx) as running:
        found = unsent.unsent_letters(running.context(Role.WORKER))
    if as_json:
        write_json_list(found)
    else:
        headings = ("Letter", "Since", "State", "Depot", "For", "About", "Because")
        shown = [
            (
                one["id"],
                f"{one['created_at']:%Y-%m-%d %H:%M}",
                one["state"],
                one["depot"],
                one["role"],
                one["subject"],
                one["error"],
            )
            for one in found
        ]
        write_table(headings, shown, none="Every letter was sent.")
    end(well=not any(one["state"] in unsent.STUCK for one in found))


def send_again(
    ctx: typer.Context,
    letter: Annotated[
        list[UUID] | None,
        typer.Argument(help="The id of a letter; left out, all that will not go by themselves."),
    ] = None,
) -> None:
    """Let letters go again, when there is an address or the mail server takes them."""
    with services(ctx) as running:
        chosen = unsent.send_again(running.context(Role.WORKER), letter or [])
    typer.echo(f"{len(chosen)} wait to be sent.")


def drop(
    ctx: typer.Context,
    letter: Annotated[list[UUID], typer.Argument(help="The id of a letter that shall never go.")],
) -> None:
    """Let letters never go; what they tell stands on the pages all the same."""
    with services(ctx) as running:
        dropped = unsent.drop(running.context(Role.WORKER), letter)
    typer.echo(f"{len(dropped)} dropped.")
