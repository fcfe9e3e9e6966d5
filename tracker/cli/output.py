"""Writing answers: JSON for programs, tables for people; and the exit status."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Any, Final

import orjson
import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from shared.legible import legible

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]

SOMETHING_WRONG: Final = 1
"""Exit status when something is wrong with the data."""


def write_json(value: Any) -> None:  # noqa: ANN401 - anything JSON can say
    """Write one JSON document to standard output."""
    typer.echo(orjson.dumps(value, default=str, option=orjson.OPT_INDENT_2))


def write_json_list(values: Iterable[Any]) -> None:
    """Write a JSON array as it comes, one element to a line."""
    # Rows name their columns by a kind of str of SQLAlchemy's own, hence the option.
    option = orjson.OPT_NON_STR_KEYS
    write_json_texts(orjson.dumps(value, default=str, option=option) for value in values)


def write_json_texts(texts: Iterable[bytes]) -> None:
    """Write elements that are JSON already as one array, one to a line."""
    typer.echo(b"[", nl=False)
    before = b"\n"
    for lot in _in_lots(texts):
        typer.echo(before + b",\n".join(lot), nl=False)
        before = b",\n"
    typer.echo(b"]" if before == b"\n" else b"\n]")


def _in_lots(texts: Iterable[bytes]) -> Iterator[list[bytes]]:
    lot: list[bytes] = []
    for text in texts:
        lot.append(text)
        if len(lot) == _LOT:
            yield lot
            lot = []
    if lot:
        yield lot


_LOT: Final = 1000


def say(text: str, *, err: bool = False) -> None:
    """Write a line for people; nothing that a stranger wrote in it is obeyed by the terminal."""
    typer.echo(legible(text), err=err)


def write_table(headings: Sequence[str], rows: Iterable[Sequence[object]], none: str) -> None:
    """Write a table; `none` is said instead when there are no rows."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, heading in enumerate(headings):
        # The first names the row: it is copied into the next command, and so is never broken.
        table.add_column(heading, overflow="fold", no_wrap=place == 0)
    for row in rows:
        table.add_row(*(Text(in_words(value)) for value in row))
    if table.row_count:
        console().print(table)
    else:
        typer.echo(none)


def write_pairs(pairs: Iterable[tuple[str, object]]) -> None:
    """Write names and values below each other; those without a value are left out."""
    table = Table(box=None, show_header=False, pad_edge=False)
    for name, value in pairs:
        if value not in (None, "", [], {}):
            table.add_row(name, Text(in_words(value)))
    console().print(table)


def in_words(value: object) -> str:
    """Write a value as a person reads it."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case list() | tuple():
            return ", ".join(map(in_words, value))
        case dict():
            return ", ".join(f"{name} {in_words(one)}" for name, one in value.items())
        case _:
            return legible(str(value))


def console() -> Console:
    """Return where people read: standard output, nothing coloured by guess."""
    return Console(highlight=False, markup=False)


def end(*, well: bool) -> None:
    """End the command with status 1 when something is wrong with the data."""
    if not well:
        raise typer.Exit(SOMETHING_WRONG)
