"""The command line: one application, one command group per file beside this."""

from __future__ import annotations

from typing import Any, Final

import typer
from typer.core import TyperGroup
from typing_extensions import override

from shared.errors import HardstandError
from shared.settings import SettingsError
from tracker.cli import (
    account,
    airflow,
    alerts,
    answer,
    batch,
    catalogue,
    check,
    checklist,
    forget,
    held,
    house,
    letters,
    may_leave,
    orders,
    pack,
    paper,
    photo,
    pre_advise,
    questions,
    rebuild,
    round,
    schema,
    send,
    siting,
    stock,
    stock_check,
    unit,
    verify,
)
from tracker.cli.means import ServicesAwayError
from tracker.cli.output import say

WRONG_USAGE: Final = 2
NOT_DONE: Final = 3
"""Exit status when a service is missing, so that nothing can be said about the data."""


class CommandGroup(TyperGroup):
    """Says our own errors in their sentence on standard error, without a traceback."""

    @override
    def invoke(self, ctx: Any) -> Any:
        """Run the command; the exit status tells what kind of error it was."""
        try:
            return super().invoke(ctx)
        except HardstandError as fault:
            say(f"hardstand: {fault}", err=True)
            raise typer.Exit(_status_of(fault)) from None


def _status_of(fault: HardstandError) -> int:
    if isinstance(fault, SettingsError):
        return WRONG_USAGE
    return NOT_DONE if isinstance(fault, ServicesAwayError) else 1


def make_app() -> typer.Typer:
    """Return the application with every command that `tracker` has."""
    app = typer.Typer(
        name="hardstand",
        cls=CommandGroup,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        help="The one true record of every freight container that passes through a depot.",
        epilog="Exit status: 0 all is well, 1 something is wrong with the data, "
        "2 wrong usage, 3 a service is missing.",
    )
    app.command(epilog=check.EXAMPLES)(check.check)
    app.command(epilog=send.EXAMPLES)(send.send)
    app.command(name="pre-advise", epilog=pre_advise.EXAMPLES)(pre_advise.pre_advise)
    app.command(epilog=batch.EXAMPLES)(batch.batch)
    app.command(epilog=unit.EXAMPLES)(unit.unit)
    app.command(epilog=checklist.EXAMPLES)(checklist.checklist)
    app.command(epilog=stock.EXAMPLES)(stock.stock)
    app.command(epilog=orders.EXAMPLES)(orders.orders)
    app.command(epilog=orders.ORDER_EXAMPLES)(orders.order)
    app.command(epilog=questions.EXAMPLES)(questions.questions)
    app.command(epilog=answer.EXAMPLES)(answer.answer)
    app.command(epilog=may_leave.EXAMPLES)(may_leave.may_leave)
    app.command(epilog=pack.EXAMPLES)(pack.pack)
    app.command(epilog=photo.EXAMPLES)(photo.photo)
    app.add_typer(alerts.make_alerts_group())
    app.add_typer(stock_check.make_stock_check_group())
    app.command(name="round", epilog=round.EXAMPLES)(round.make_round)
    app.command(epilog=verify.EXAMPLES)(verify.verify)
    app.command(epilog=rebuild.EXAMPLES)(rebuild.rebuild)
    app.command(epilog=schema.EXAMPLES)(schema.schema)
    app.command(epilog=held.EXAMPLES)(held.held)
    app.command(name="let-go", epilog=held.LET_GO_EXAMPLES)(held.let_go)
    app.add_typer(letters.make_letters_group())
    app.command(epilog=forget.EXAMPLES)(forget.forget)
    app.command()(siting.siting)
    app.command()(airflow.airflow)
    app.add_typer(paper.make_paper_group())
    app.add_typer(house.make_depot_group())
    app.add_typer(house.make_contact_group())
    app.add_typer(catalogue.make_catalogue_group())
    app.add_typer(account.make_account_group())
    app.add_typer(account.make_key_group())
    return app
