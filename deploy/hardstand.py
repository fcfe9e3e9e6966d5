"""The command `hardstand`: what `tracker` offers, and what runs the whole on this machine."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

import typer

from deploy.means import DeployedMeans
from shared import logs, settings
from tracker.cli.main import make_app

_DEMO_EXAMPLES: Final = "Examples:\n\nhardstand demo\n\nhardstand demo --serve"
_BENCH_EXAMPLES: Final = "Example:\n\nhardstand bench --set quick --json out.json"
_FAULTS_EXAMPLES: Final = "Example:\n\nhardstand faults --events 2000 --json out.json"
_LOAD_EXAMPLES: Final = "Example:\n\nhardstand load --clients 500 --seconds 120 --json out.json"


class Set(StrEnum):
    """How much is measured."""

    QUICK = "quick"
    STANDARD = "standard"
    LONG = "long"


def make_hardstand() -> typer.Typer:
    """Return the whole application."""
    app = make_app()
    app.command(epilog="Example:\n\nHARDSTAND_HOME=/srv/hardstand hardstand serve")(serve)
    app.command(epilog=_DEMO_EXAMPLES)(demo)
    app.command(epilog=_BENCH_EXAMPLES)(bench)
    app.command(epilog=_FAULTS_EXAMPLES)(faults)
    app.command(epilog=_LOAD_EXAMPLES)(load)
    return app


def serve() -> None:
    """Serve pages and API with workers and services, until Ctrl-C."""
    from deploy import run  # noqa: PLC0415 - only who serves waits for all it imports

    run.serve(settings.load())


def demo(
    *,
    then_serve: Annotated[
        bool, typer.Option("--serve", help="Serve pages and API afterwards, until Ctrl-C.")
    ] = False,
) -> None:
    """Work through the demo day, an invented scenario, and say what happened."""
    from deploy.demo import run  # noqa: PLC0415 - only the demo waits for all it imports

    run(settings.load(), serve=then_serve)


def bench(
    *,
    how_much: Annotated[
        Set,
        typer.Option("--set", help="quick: a minute; long: a million units."),
    ] = Set.STANDARD,
    json: Annotated[Path | None, typer.Option(help="Write the rows to this file too.")] = None,
) -> None:
    """Measure speed beside its yardsticks, in private databases on embedded servers."""
    # What it is measured beside is no part of a depot's installation.
    from deploy.bench import run  # noqa: PLC0415

    extent = {Set.QUICK: run.QUICK, Set.STANDARD: run.STANDARD, Set.LONG: run.LONG}[how_much]
    run.bench(settings.load(), extent, json)


def faults(
    *,
    events: Annotated[
        int, typer.Option(min=200, help="Events in the stream that each fault meets.")
    ] = 3000,
    json: Annotated[Path | None, typer.Option(help="Write the rows to this file too.")] = None,
) -> None:
    """Inject faults while events are in flight, and compare with the model, on its own servers.

    The status is 1 if a row is not clean.
    """
    # Only who breaks things waits for all it imports.
    from deploy.faults import run  # noqa: PLC0415

    if not all(row.is_clean for row in run.run_faults(settings.load(), events, json)):
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
    # Only who measures waits for all it imports.
    from deploy.load import outcome, run  # noqa: PLC0415

    extent = run.Extent(clients, seconds, events)
    if not outcome.is_clean(outcome.figures(run.run_load(settings.load(), extent, json))):
        raise typer.Exit(1)


def main() -> None:
    """Run the command line of this process."""
    # People read standard error here; what goes wrong is told by the command itself.
    logs.configure("command", level="ERROR")
    make_hardstand()(obj=DeployedMeans())


if __name__ == "__main__":
    main()
