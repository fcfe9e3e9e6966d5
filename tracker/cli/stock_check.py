"""`stock-check`: go through the stacks, and compare what was seen with what should be there."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json, write_json_list, write_table
from tracker.services import stock_check
from tracker.services.stock_check import Comparison, Found

EXAMPLES: Final = (
    "Examples:\n\nhardstand stock-check start NORTH --by Ada --id NORTH-2026-03\n\n"
    "hardstand stock-check compare NORTH-2026-03"
)

_Check = Annotated[str, typer.Argument(metavar="CHECK", help="The check's id.")]


def make_stock_check_group() -> typer.Typer:
    """Return the commands about stock checks."""
    group = typer.Typer(
        name="stock-check",
        no_args_is_help=True,
        help="Compare what stands on the ground with the record.",
        epilog=EXAMPLES,
    )
    group.command("start")(start)
    group.command("compare")(compare)
    group.command("finish")(finish)
    group.command("list")(list_checks)
    return group


def start(
    ctx: typer.Context,
    depot: Annotated[str, typer.Argument(metavar="DEPOT", help="Code of the depot.")],
    *,
    by: Annotated[str, typer.Option(help="Who goes through the stacks.")],
    check: Annotated[
        str | None, typer.Option("--id", metavar="CHECK", help="Left out, one is made.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Begin a stock check. Sightings that give its id as their `check` belong to it."""
    with services(ctx) as running:
        begun = stock_check.begin(running.context(Role.WEB), depot, by, check_id=check)
    if as_json:
        write_json(asdict(begun))
    else:
        say(f"{begun.id} begun at {begun.depot}.")


def compare(ctx: typer.Context, check: _Check, *, as_json: AsJson = False) -> None:
    """Show what a check has found so far; status 1 where the record differs from the ground."""
    with services(ctx) as running:
        found = stock_check.compare(running.context(Role.WEB), check)
    _show(found, as_json=as_json)


def finish(ctx: typer.Context, check: _Check, *, as_json: AsJson = False) -> None:
    """Finish a check and show what it came to. The next round tells what it did not find."""
    with services(ctx) as running:
        found = stock_check.finish(running.context(Role.WEB), check)
    _show(found, as_json=as_json)


def list_checks(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List the stock checks, the last begun first."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        found = stock_check.list_checks(context)
        time = DepotTime.of(context)
    if as_json:
        write_json_list(map(asdict, found))
        return
    rows = [
        (
            one.id,
            one.depot,
            time.moment(one.begun_at, one.depot),
            one.begun_by,
            time.moment(one.finished_at, one.depot),
        )
        for one in found
    ]
    headings = ("Check", "Depot", "Begun", "By", "Finished")
    write_table(headings, rows, none="No stock check was ever begun.")
    time.write_zones()


def _show(found: Comparison, *, as_json: bool) -> None:
    lists = {
        "found without arrival": found.found_without_arrival,
        "not found": found.not_found,
        "in the wrong slot": found.in_wrong_slot,
    }
    if as_json:
        write_json(asdict(found))
    else:
        rows = [_row(what, one) for what, some in lists.items() for one in some]
        say(f"{found.check.id} at {found.check.depot}: {found.seen} units seen.")
        headings = ("What", "Unit", "Slot", "By the record")
        write_table(headings, rows, none="All is where the record has it.")
    end(well=not any(lists.values()))


def _row(what: str, one: Found) -> tuple[object, ...]:
    seen = one.last_seen_at and f"last seen {one.last_seen_at[:10]}"
    return (what, one.mark or one.unit_id, one.slot, one.was or one.slot_before or seen)
