"""`stock`: list the units that a filter lets through."""

from __future__ import annotations

import contextlib
from datetime import date
from itertools import islice
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.moments import read_day
from tracker.cli.output import AsJson, write_json_list, write_table
from tracker.cli.paper_files import Csv, keep_pieces
from tracker.services.listings import every_unit
from tracker.services.spreadsheets import units_csv
from tracker.store.queries import StockFilter

EXAMPLES: Final = (
    "Examples:\n\nhardstand stock --depot NORTH --presence in-depot\n\n"
    "hardstand stock --size-type 22G1 --condition cargo-worthy --json\n\n"
    "hardstand stock --examination-before 2026-06-01 --csv due.csv"
)

_COLUMNS: Final = (
    ("Mark", "mark"),
    ("Tag", "tag"),
    ("Presence", "presence"),
    ("Depot", "depot"),
    ("Slot", "slot"),
    ("Size", "size_type"),
    ("Condition", "condition"),
    ("Deal", "stands"),
    ("Questions", "questions"),
    ("Breaches", "breaches"),
    ("Examination", "examination_on"),
)


def stock(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    *,
    depot: Annotated[str | None, typer.Option(help="Code of the depot.")] = None,
    presence: Annotated[
        str | None, typer.Option(help="expected, in-depot, away or disposed.")
    ] = None,
    size_type: Annotated[str | None, typer.Option(help="As painted, such as 22G1.")] = None,
    condition: Annotated[str | None, typer.Option(help="Such as cargo-worthy.")] = None,
    stands: Annotated[str | None, typer.Option(help="free, reserved, sold or released.")] = None,
    mark_state: Annotated[str | None, typer.Option(help="good, in-question or as-painted.")] = None,
    questions: Annotated[
        bool | None, typer.Option(help="Only those with open questions, or only those without.")
    ] = None,
    examination_before: Annotated[
        str | None, typer.Option(help="Next examination before this day, YYYY-MM-DD.")
    ] = None,
    begins: Annotated[str | None, typer.Option(help="What the mark begins with.")] = None,
    digits: Annotated[
        str | None, typer.Option(help="Last digits of the mark, or of its serial.")
    ] = None,
    limit: Annotated[
        int | None, typer.Option(min=1, help="At most so many; without it, all.")
    ] = None,
    as_json: AsJson = False,
    as_csv: Csv = None,
) -> None:
    """List the stock by mark: what there is, where, and what keeps it."""
    wanted = StockFilter(
        depot=depot,
        presence=presence,
        size_type=size_type,
        condition=condition,
        stands=stands,
        mark_state=mark_state,
        with_questions=questions,
        examination_before=_day(examination_before),
        mark_begins=begins,
        digits=_digits(digits),
    )
    # The walk is closed before the services are, whatever becomes of the output.
    with (
        services(ctx) as running,
        contextlib.closing(every_unit(running.context(Role.READER), wanted)) as every,
    ):
        units = islice(every, limit)
        if as_csv is not None:
            keep_pieces(units_csv(units), as_csv)
        elif as_json:
            write_json_list(units)
        else:
            _show(list(units))


def _digits(text: str | None) -> str | None:
    if text is not None and not (text.isascii() and text.isdigit()):
        raise typer.BadParameter(f"{text!r} are no digits.")
    return text


def _day(text: str | None) -> date | None:
    return None if text is None else read_day(text)


def _show(units: list[dict[str, object]]) -> None:
    headings = [heading for heading, _ in _COLUMNS]
    rows = ([_cell(one, name) for _, name in _COLUMNS] for one in units)
    write_table(headings, rows, none="No unit is like that.")
    if units:
        typer.echo(f"{len(units)} units. A ? stands after a mark that is in question.")


def _cell(one: dict[str, object], name: str) -> object:
    value = one[name]
    if name == "mark" and value is not None and one["mark_state"] == "in-question":
        return f"{value} ?"
    return None if value == 0 else value
