"""`may-leave`: say whether a unit may pass the barrier."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json
from tracker.services.may_leave import Leave
from tracker.services.may_leave import may_leave as ask

EXAMPLES: Final = (
    "Examples:\n\nhardstand may-leave CSQU3054383\n\n"
    "hardstand may-leave CSQU3054383 --reference K7Q2M9 --json"
)


def may_leave(
    ctx: typer.Context,
    mark: Annotated[
        str, typer.Argument(help="Any mark it ever bore, a tag #DEPOT/TAG, or its id.")
    ],
    *,
    reference: Annotated[
        str | None, typer.Option(help="The collection reference the driver names.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say whether a unit may leave now, with every reason why not. Opens no barrier."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        leave = ask(context, mark, reference=reference)
        time = DepotTime.of(context)
    if as_json:
        write_json(
            {
                "mark": leave.mark,
                "unit_id": str(leave.unit_id),
                "may_leave": leave.is_given,
                "cleared": leave.is_cleared,
                "findings": [found.model_dump(mode="json") for found in leave.findings],
            }
        )
    else:
        _show(leave, time)
    end(well=leave.is_given)


def _show(leave: Leave, time: DepotTime) -> None:
    word = "may NOT" if not leave.is_given else "is cleared and may" if leave.is_cleared else "may"
    say(f"{leave.mark or leave.unit_id} {word} leave.")
    for found in leave.findings:
        say(f"  {found.severity.value}: {time.told(found.message, leave.depot)}")
