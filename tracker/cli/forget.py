"""`forget`: erase something said about a person."""

from __future__ import annotations

import sys
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import end
from tracker.services.forget import forget as erase

EXAMPLES: Final = (
    "Examples:\n\nhardstand forget 'Ada Quill'\n\n"
    "hardstand forget - --yes < name.txt   (keeps the name out of the shell's history)\n\n"
    "hardstand forget DIGEST   (the digest of a signature, or of any picture, erases the picture)"
)


def forget(
    ctx: typer.Context,
    value: Annotated[str, typer.Argument(help="What was said, exactly, or a picture's digest.")],
    *,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask; it cannot be undone.")] = False,
) -> None:
    """Erase a value about a person from everything recorded. Histories stay whole and provable.

    Each value is forgotten as it was said: a name written in two ways is two values. A signature is
    a picture: its digest stands in the gate report; papers printed later say that it was erased.
    """
    said = sys.stdin.readline().rstrip("\r\n") if value == "-" else value
    if not yes:
        typer.confirm(f"Forget {said!r} for ever?", abort=True, err=True)
    with services(ctx) as running:
        was_known = erase(running.context(Role.OWNER), said)
    typer.echo("Forgotten." if was_known else "Nothing like that is known.")
    end(well=was_known)
