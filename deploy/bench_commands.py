"""The commands that measure and break: `hardstand bench`, `bench faults` and `bench load`."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

import typer

from deploy.errors import DeployError
from shared import settings

_BENCH_EXAMPLES: Final = "Example:\n\nhardstand bench --set quick --json out.json"
_FAULTS_EXAMPLES: Final = (
    "Examples:\n\nhardstand bench faults --events 2000 --json out.json\n\n"
    "hardstand bench faults --only redis --times 5"
)
_LOAD_EXAMPLES: Final = (
    "Example:\n\nhardstand bench load --clients 500 --seconds 120 --json out.json"
)


class Set(StrEnum):
    """How much is measured."""

    QUICK = "quick"
    STANDARD = "standard"
    LONG = "long"


def make_bench_group() -> typer.Typer:
    """Return what measures; without a command it measures speed."""
    group = typer.Typer(
        name="bench",
        invoke_without_command=True,
        help="Measure speed, faults survived, and load borne, on this machine.",
        epilog=_BENCH_EXAMPLES,
    )
    group.callback()(bench)
    group.command(epilog=_FAULTS_EXAMPLES)(faults)
    group.command(epilog=_LOAD_EXAMPLES)(load)
    return group


def bench(
    ctx: typer.Context,
    *,
    how_much: Annotated[
        Set,
        typer.Option("--set", help="quick: a minute; long: a million units."),
    ] = Set.STANDARD,
    json: Annotated[Path | None, typer.Option(help="Write the rows to this file too.")] = None,
) -> None:
    """Measure speed beside its yardsticks, in private databases on embedded servers."""
    if ctx.invoked_subcommand is not None:
        return
    with _developers_packages():
        from deploy.bench import run  # noqa: PLC0415 - only who measures waits for all it imports

    extent = {Set.QUICK: run.QUICK, Set.STANDARD: run.STANDARD, Set.LONG: run.LONG}[how_much]
    run.bench(settings.load(), extent, json)


def faults(
    *,
    events: Annotated[
        int, typer.Option(min=200, help="Events in the stream that each fault meets.")
    ] = 3000,
    only: Annotated[
        list[str] | None, typer.Option(help="Only faults whose name has this in it.")
    ] = None,
    times: Annotated[
        int, typer.Option(min=1, help="How often each; some strike at certain moments only.")
    ] = 1,
    json: Annotated[Path | None, typer.Option(help="Write the rows to this file too.")] = None,
) -> None:
    """Inject faults while events are in flight, and compare with the model, on its own servers.

    The status is 1 if a row is not clean.
    """
    with _developers_packages():
        from deploy.faults import run  # noqa: PLC0415 - only who breaks things waits for it

    wanted = run.choose(only or [])
    if not wanted:
        raise typer.BadParameter("no fault has that in its name", param_hint="--only")
    rows = run.run_faults(settings.load(), wanted * times, events=events, json=json)
    if not all(row.is_clean for row in rows):
        raise typer.Exit(1)


def load(
    *,
    clients: Annotated[int, typer.Option(min=1, help="How many at once.")] = 500,
    seconds: Annotated[float, typer.Option(min=1, help="For how long at most.")] = 120,
    events: Annotated[int, typer.Option(min=100, help="How many are sent at most.")] = 100_000,
    json: Annotated[Path | None, typer.Option(help="Write the table to this file too.")] = None,
) -> None:
    """Let many clients report and read at once, stop everything in mid-load, and count the cost.

    The status is 1 if anything is not as it must be.
    """
    with _developers_packages():
        from deploy.load import outcome, run  # noqa: PLC0415 - as above

    extent = run.Extent(clients, seconds, events)
    if not outcome.is_clean(outcome.figures(run.run_load(settings.load(), extent, json))):
        raise typer.Exit(1)


@contextlib.contextmanager
def _developers_packages() -> Iterator[None]:
    """Say where a package comes from that is no part of a depot's installation."""
    try:
        yield
    except ModuleNotFoundError as fault:
        raise DeployError(
            f"The package {fault.name} is not installed, which only developers need",
            expected="all packages of requirements.lock",
            remedy="pip install --require-hashes --requirement requirements.lock",
        ) from fault
