"""`alerts`: list what falls due, acknowledge it, put it off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.moments import read_day
from tracker.cli.output import AsJson, say, write_json, write_json_list, write_table
from tracker.services import alerts_desk
from tracker.services.alerts_desk import AlertName
from tracker.services.listings import open_alerts
from tracker.store.alerts import AlertRow

EXAMPLES: Final = (
    "Examples:\n\nhardstand alerts --depot NORTH\n\n"
    "hardstand alerts acknowledge CSQU3054383 work-overdue --by Ada --reason 'parts come Friday'"
)

_Unit = Annotated[str, typer.Argument(metavar="MARK", help="Any mark it ever bore, a tag, its id.")]
_Kind = Annotated[str, typer.Argument(metavar="KIND", help="As the list shows it: work-overdue.")]
_By = Annotated[str, typer.Option(help="Who answers.")]
_Reason = Annotated[str, typer.Option(help="What is being done about it.")]
_Cause = Annotated[
    str | None, typer.Option(help="Which of several; left out, all of the kind about the unit.")
]


def make_alerts_group() -> typer.Typer:
    """Return the commands about alerts; without a further word they are listed."""
    group = typer.Typer(
        name="alerts", invoke_without_command=True, help="What falls due.", epilog=EXAMPLES
    )
    group.callback()(alerts)
    group.command("acknowledge")(acknowledge)
    group.command("put-off")(put_off)
    return group


def alerts(
    ctx: typer.Context,
    *,
    depot: Annotated[str | None, typer.Option(help="Code of the depot.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the open alerts, the soonest due first. The daily round raises them."""
    if ctx.invoked_subcommand is not None:
        return
    with services(ctx) as running:
        context = running.context(Role.READER)
        standing = open_alerts(context, depot)
        time = DepotTime.of(context)
    if as_json:
        write_json_list(standing)
        return
    headings = ("Due", "Kind", "Unit", "Depot", "For", "What", "Answered")
    write_table(headings, (_row(one, time) for one in standing), none="No alert stands.")


def acknowledge(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    mark: _Unit,
    kind: _Kind,
    *,
    by: _By,
    reason: _Reason,
    cause: _Cause = None,
    as_json: AsJson = False,
) -> None:
    """Let an alert stand without further reminders, until its cause is gone."""
    with services(ctx) as running:
        answered = alerts_desk.acknowledge(
            running.context(Role.WEB),
            AlertName(mark, kind, cause),
            by=by,
            reason=reason,
            actor=None,
        )
    _tell(answered, "acknowledged", as_json=as_json)


def put_off(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    mark: _Unit,
    kind: _Kind,
    *,
    until: Annotated[str, typer.Option(help="The day on which it is told again, YYYY-MM-DD.")],
    by: _By,
    reason: _Reason,
    cause: _Cause = None,
    as_json: AsJson = False,
) -> None:
    """Tell no more of an alert until a day, and then again."""
    day = read_day(until)
    with services(ctx) as running:
        answered = alerts_desk.put_off(
            running.context(Role.WEB),
            AlertName(mark, kind, cause),
            until=day,
            by=by,
            reason=reason,
            actor=None,
        )
    _tell(answered, f"put off until {day}", as_json=as_json)


def _tell(answered: Sequence[AlertRow], how: str, *, as_json: bool) -> None:
    if as_json:
        write_json([{"kind": row.kind, "cause": row.cause, "says": row.says} for row in answered])
        return
    for row in answered:
        say(f"{row.kind} {how}: {row.says}")


def _row(one: dict[str, Any], time: DepotTime) -> tuple[object, ...]:
    answer = one["reason"] and (
        f"put off until {one['put_off_until']}" if one["put_off_until"] else "acknowledged"
    )
    return (
        one["due_on"],
        one["kind"],
        one["mark"] or one["tag"] or str(one["unit_id"]),
        one["depot"],
        one["role"],
        time.told(one["says"], one["depot"]),
        f"{answer}: {one['reason']}" if answer else None,
    )
