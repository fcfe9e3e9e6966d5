"""List the orders by quantity that depots have taken."""

from __future__ import annotations

from typing import Any

from tracker.services.context import Context
from tracker.services.sight import Sight
from tracker.store import orders, people


def list_orders(context: Context, sight: Sight, depot: str | None = None) -> list[dict[str, Any]]:
    """Return the orders of their depots, those that still wait for units first, people named.

    Each has `outstanding` besides its own fields: how many units are promised and not allotted.
    """
    with context.engine.begin() as connection:
        found = orders.list_all(connection, depot, among=sight.depots)
        told: list[dict[str, Any]] = people.reveal(connection, found)
    return [one | {"outstanding": _outstanding(one)} for one in told]


def _outstanding(order: dict[str, Any]) -> int:
    return max(0, order["count"] - len(order["allotted"])) if order["state"] == "open" else 0


def described(wanted: dict[str, Any]) -> str:
    """Say a description in words: what is left open is left out."""
    said = [f"{wanted['length_ft']} ft"]
    if (high := wanted.get("high")) is not None:
        said.append("9 ft 6 in high" if high else "not 9 ft 6 in high")
    if tuple(wanted["types"]) != ("G", "V"):
        said.append("type " + "/".join(wanted["types"]))
    said += [" or ".join(wanted["conditions"])] if wanted.get("conditions") else []
    said += [str(wanted[name]) for name in ("colour", "provenance") if wanted.get(name)]
    return ", ".join(said)
