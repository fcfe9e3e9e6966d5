"""`round`: make the daily round now, and send its mails."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.moments import read_day
from tracker.cli.output import AsJson, write_json, write_table
from tracker.services.daily_round import make_rounds
from tracker.services.post import post_of, send_waiting

EXAMPLES: Final = "Examples:\n\nhardstand round\n\nhardstand round --on 2026-03-02 --json"


def make_round(
    ctx: typer.Context,
    *,
    on: Annotated[str | None, typer.Option(help="Stands for today, YYYY-MM-DD.")] = None,
    as_json: AsJson = False,
) -> None:
    """Make the round of every depot whose day has none yet, and send what waits in the outbox."""
    day = None if on is None else read_day(on)
    with services(ctx) as running:
        context = running.context(Role.WORKER)
        reports = make_rounds(context, on=day)
        sent = send_waiting(context, post_of(context))
    if as_json:
        write_json({"rounds": [asdict(report) for report in reports], "sent": sent})
        return
    rows = [(one.depot, one.day, one.raised, one.reminded, one.letters) for one in reports]
    headings = ("Depot", "Day", "Alerts", "Reminders", "Letters")
    write_table(headings, rows, none="Every depot's round of the day was made already.")
    typer.echo(f"{sent} letters sent.")
