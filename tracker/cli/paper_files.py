"""Where commands write a paper."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

Out = Annotated[Path | None, typer.Option("--out", dir_okay=False, help="The file to write it to.")]


Csv = Annotated[
    Path | None, typer.Option("--csv", dir_okay=False, help="Write it to this file as CSV.")
]


def keep(content: bytes, out: Path) -> None:
    """Write a paper to a file, in place of what was there; wrong usage when it cannot be."""
    keep_pieces([content], out)


def keep_pieces(pieces: Iterable[bytes], out: Path) -> None:
    """Write a file as its pieces come; wrong usage when it cannot be written."""
    try:
        with out.open("wb") as file:
            file.writelines(pieces)
    except OSError as fault:
        raise typer.BadParameter(f"{out} cannot be written: {fault.strerror}.") from fault
    typer.echo(f"Written to {out}.", err=True)
