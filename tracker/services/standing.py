"""How one recorded event stands today: as it was reported, or as it was put right since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from tracker.judge.fold import SETTLING
from tracker.services import sight as seeing
from tracker.services.context import Context
from tracker.services.sight import Sight
from tracker.services.unit_view import UnitUnknownError, UnitView
from tracker.store import receipts


@dataclass(frozen=True, slots=True)
class Standing:
    """An event in the history of its unit, people named; `event` is how it stands today."""

    view: UnitView
    row: dict[str, Any]
    event: dict[str, Any]


def find_standing(context: Context, sight: Sight, event_id: UUID) -> Standing | None:
    """Return how an event stands that may be seen.

    None when there is no such event, when it was taken out, or when it settles another.
    """
    with context.engine.begin() as connection:
        unit_id = receipts.streams_of(connection, [event_id]).get(event_id)
    if unit_id is None:
        return None
    try:
        view = seeing.show(context, sight, str(unit_id))
    except UnitUnknownError:
        return None
    wanted = str(event_id)
    row = next((one for one in view.history if one["id"] == wanted), None)
    event = standing_events(view.history).get(wanted)
    if row is None or event is None or row["kind"] in SETTLING:
        return None
    return Standing(view, row, event)


def standing_events(history: Iterable[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return, by id, the events of shown rows as they stand; those taken out are not there."""
    stand: dict[str, dict[str, Any]] = {}
    for row in history:
        stand[row["id"]] = row["event"]
        for event_id, instead in overrides_of(row).items():
            stand.pop(event_id, None)
            if instead is not None:
                stand[event_id] = instead
    return stand


def overrides_of(row: dict[str, Any]) -> dict[str, dict[str, Any] | None]:
    """Return the events that a shown row puts in the place of others, None for one taken out."""
    if row["brought_by"] is not None:
        return {}
    overrides = row["resolved"].get("overrides", {})
    return {one: instead and instead["payload"] for one, instead in overrides.items()}
