"""`batch`: how a batch came in: what arrived, what is missing, what nobody had announced."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json, write_table
from tracker.services.deliveries import show_delivery
from tracker.services.sight import Sight

EXAMPLES: Final = "Examples:\n\nhardstand batch B-2026-14\n\nhardstand batch B-2026-14 --json"


def batch(
    ctx: typer.Context,
    batch: Annotated[str, typer.Argument(help="As pre-advice and gate-in name it.")],
    *,
    as_json: AsJson = False,
) -> None:
    """Show how a batch came in: short, over, or otherwise than announced.

    Fine when every unit announced has arrived, as announced, and no other.
    """
    with services(ctx) as running:
        context = running.context(Role.WEB)
        found = show_delivery(context, Sight(None), batch)
        time = DepotTime.of(context)
    if as_json:
        write_json(found)
    else:
        _show(found, time)
    counts = found["counts"]
    end(well=not (counts["missing"] or counts["unexpected"] or counts["differing"]))


def _show(found: dict[str, Any], time: DepotTime) -> None:
    counts = found["counts"]
    say(
        f"Batch {found['batch']}: {counts['advised']} announced, {counts['arrived']} arrived, "
        f"{counts['missing']} missing, {counts['unexpected']} unexpected, "
        f"{counts['differing']} otherwise than announced."
    )
    rows = [
        (
            unit["mark"] or unit["tag"],
            unit["state"],
            time.moment(unit["arrived_at"], unit["depot"]),
            _says(unit, time),
        )
        for unit in found["units"]
    ]
    write_table(("Unit", "State", "Arrived", "Exceptions"), rows, none="")
    time.write_zones()


def _says(unit: dict[str, Any], time: DepotTime) -> str:
    differs = [
        f"{one['field']} announced {one['advised']}, read {one['read']}." for one in unit["differs"]
    ]
    claims = [f"Claim: {says}." for says in unit["claims"]]
    return time.told(" ".join([*differs, *claims, *unit["questions"]]), unit["depot"])
