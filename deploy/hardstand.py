"""The command `hardstand`: what `tracker` offers, and what runs the whole on this machine."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from deploy.bench_commands import make_bench_group
from deploy.means import DeployedMeans
from shared import logs, settings
from tracker.cli.main import make_app

_DEMO_EXAMPLES: Final = "Examples:\n\nhardstand demo\n\nhardstand demo --serve"


def make_hardstand() -> typer.Typer:
    """Return the whole application."""
    app = make_app()
    app.command(epilog="Example:\n\nHARDSTAND_HOME=/srv/hardstand hardstand serve")(serve)
    app.command(epilog=_DEMO_EXAMPLES)(demo)
    app.add_typer(make_bench_group())
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


def main() -> None:
    """Run the command line of this process."""
    # People read standard error here; what goes wrong is told by the command itself.
    logs.configure("command", level="ERROR")
    make_hardstand()(obj=DeployedMeans())


if __name__ == "__main__":
    main()
