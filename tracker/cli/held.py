"""`held` and `let-go`: what waits for an operator, and letting it be judged again."""

from __future__ import annotations

from datetime import UTC
from typing import Annotated, Final
from uuid import UUID

import typer

from shared.addresses import Role
from tracker.cli.handing_in import wait_for
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json_list, write_table
from tracker.services.let_go import let_go as release
from tracker.services.listings import held_events

EXAMPLES: Final = "Examples:\n\nhardstand held\n\nhardstand held --json"
LET_GO_EXAMPLES: Final = "Examples:\n\nhardstand let-go 0190b2c4-7d1e-7c3a-9f00-5b1f0a2c3d4e"


def held(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List events that broke the judge, and what could not be read at all."""
    with services(ctx) as running:
        rows = held_events(running.context(Role.WEB))
    if as_json:
        write_json_list(rows)
        return
    shown = [
        (
            one["event_id"],
            f"{one['received_at'].astimezone(UTC):%Y-%m-%d %H:%M}",
            one["readable"],
            one["error"],
        )
        for one in rows
    ]
    write_table(("Event", "Received (UTC)", "Readable", "Because"), shown, none="Nothing is held.")


def let_go(
    ctx: typer.Context,
    event: Annotated[UUID, typer.Argument(help="The id of a held event that is readable.")],
) -> None:
    """Let a held event be judged again, when the cause is mended, and say what became of it."""
    with services(ctx) as running:
        release(running.context(Role.WORKER), event)
        verdict = wait_for(running, [event]).get(event)
    outcome = "waiting" if verdict is None else verdict.verdict.value
    say(f"Event {event}: {outcome}.")
    end(well=outcome in ("recorded", "waiting"))
