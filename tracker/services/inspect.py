"""What to look at on a unit: the checklist that fits it, as JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from schemas.events.deal import IntendedUse
from tracker.judge.checklist import checklist_for
from tracker.services.context import Context
from tracker.services.unit_view import find_unit
from tracker.store import records


def checklist(context: Context, name: str, intended_use: IntendedUse) -> dict[str, Any]:
    """Return the checklist of one unit for an intended use; changes nothing.

    Args:
        context: The process's means.
        name: A mark the unit bears or ever bore, its tag, or its id.
        intended_use: What the unit is inspected for.

    Returns:
        JSON: `unit_id mark size_type provenance intended_use items[]`, the items as
        `tracker.judge.checklist.CheckItem` names their fields, in the order to go through.

    Raises:
        UnitUnknownError: nobody has reported such a unit.
    """
    with context.engine.begin() as connection:
        unit_id = find_unit(connection, name)
        record = records.load(connection, [unit_id])[unit_id]
    return {
        "unit_id": str(unit_id),
        "mark": record.mark or record.tag,
        "size_type": record.size_type,
        "provenance": record.provenance,
        "intended_use": intended_use.value,
        "items": [asdict(item) for item in checklist_for(record, intended_use=intended_use)],
    }
