"""Where commands write a paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Out = Annotated[Path | None, typer.Option("--out", dir_okay=False, help="The file to write it to.")]


def keep(content: bytes, out: Path) -> None:
    """Write a paper to a file, in place of what was there; wrong usage when it cannot be."""
    try:
        out.write_bytes(content)
    except OSError as fault:
        raise typer.BadParameter(f"{out} cannot be written: {fault.strerror}.") from fault
    typer.echo(f"Written to {out}.", err=True)
