"""`orders` and `order`: what is promised by quantity, and what one order has come to."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer

from schemas.orders import OrderState
from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.money import price_words
from tracker.cli.output import AsJson, write_json, write_pairs, write_table
from tracker.services.orders_view import OrderView, described, list_orders, show_order
from tracker.services.sight import Sight
from tracker.store.orders import OrderFilter

EXAMPLES: Final = "Examples:\n\nhardstand orders\n\nhardstand orders --state open --json"
ORDER_EXAMPLES: Final = "Examples:\n\nhardstand order 01900000-0000-7000-8000-000000000001"

_EVERYWHERE: Final = Sight(None)


def orders(
    ctx: typer.Context,
    *,
    depot: Annotated[str | None, typer.Option(help="Code of the depot.")] = None,
    state: Annotated[
        OrderState | None, typer.Option(help="Those that are open, filled or cancelled.")
    ] = None,
    reference: Annotated[str | None, typer.Option(help="A part of the buyer's own.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the orders by quantity, those that still wait for units first."""
    with services(ctx) as running:
        wanted = OrderFilter(depot, None, state, reference)
        found = list_orders(running.context(Role.WEB), _EVERYWHERE, wanted)
    if as_json:
        write_json(found)
        return
    write_table(
        ("Order", "Depot", "Buyer", "What", "Ordered", "Waits for", "State"),
        [
            (
                one["order_id"],
                one["depot"],
                one["buyer"],
                described(one["description"]),
                one["count"],
                one["outstanding"],
                one["state"],
            )
            for one in found
        ],
        none="No orders.",
    )


def order(
    ctx: typer.Context,
    order_id: Annotated[str, typer.Argument(help="The id of the event that placed it.")],
    *,
    as_json: AsJson = False,
) -> None:
    """Show one order: what is promised, which references were given, which units went on it."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        view = show_order(context, _EVERYWHERE, order_id)
        time = DepotTime.of(context)
    if as_json:
        write_json({"order": view.order, "history": view.history})
    else:
        _show(view, time)


def _show(view: OrderView, time: DepotTime) -> None:
    found = view.order
    depot = found["depot"]
    write_pairs(
        [
            ("Order", found["order_id"]),
            ("Depot", found["depot"]),
            ("Buyer", found["buyer"]),
            ("What", described(found["description"])),
            ("Ordered", found["count"]),
            ("Waits for", found["outstanding"]),
            ("State", found["state"]),
            *(("Price", said[2:]) for said in (price_words(found),) if said),
            ("Their reference", found["reference"]),
            ("For", found["intended_use"]),
            ("How they get them", found["handover"]),
            ("Journey ends", found["journey_ends_on"]),
            ("Paid", _paid(found)),
            *(("Reference", _note(note)) for note in found["collection"]),
            *(("Unit", unit["mark"] or unit["tag"] or unit["unit_id"]) for unit in found["units"]),
        ]
    )
    typer.echo()
    write_table(
        ("Row", "Happened", "What", "Told by", "Found"),
        [
            (
                row["seq"],
                time.moment(row["effective_at"], depot),
                row["kind"],
                row["reported_by"],
                " ".join(
                    f"{one['severity']}: {time.told(one['message'], depot)}"
                    for one in row["findings"]
                ),
            )
            for row in view.history
        ],
        none="No history.",
    )
    time.write_zones()


def _paid(found: dict[str, Any]) -> str:
    if not found["paid"]:
        return "on credit" if found["on_credit"] else "no"
    return f"yes, by payment {found['paid_by']}" if found["paid_by"] else "yes, as it was ordered"


def _note(note: dict[str, Any]) -> str:
    said = f"{note['reference']}, used {note['used']} of {note['count']}"
    said += f", {note['passed_on']} passed on" if note.get("passed_on") else ""
    for whom in (note.get("collector"), note["haulier"]):
        said += f", for {whom}" if whom else ""
    return said
