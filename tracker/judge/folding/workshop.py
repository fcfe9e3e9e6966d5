"""How orders, fittings, repairs, paint and plates change a record."""

from __future__ import annotations

from typing import Any

from schemas.records import OpenOrder, Record
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes
from tracker.judge.folding.readings import (
    complete_payload,
    lose_plate,
    take_masses,
    take_plate,
)
from tracker.judge.folding.yard import be_seen


def fold_work_order(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """Work is asked for."""
    lines: dict[str, int] = {}
    for line in payload["lines"]:
        lines[line["work"]] = lines.get(line["work"], 0) + line["count"]
    record.orders.append(
        OpenOrder(entry.event_id, lines, entry.effective_at, payload.get("due_on"))
    )


def fold_modification(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Pieces were fitted: the tare as it now is, the payload, the approval, the paint to renew."""
    be_seen(record, entry, payload, notes)
    for fitting in payload["fittings"]:
        work = fitting["work"]
        record.fittings[work] = record.fittings.get(work, 0) + fitting["count"]
    change_kg = sum(map(_tare_change_kg, payload["fittings"]))
    weighed = payload.get("weighed_tare_kg")
    if weighed is not None:
        record.tare_kg = weighed
    elif record.tare_kg is not None:
        record.tare_kg = max(0, record.tare_kg + change_kg)
    complete_payload(record)
    if (change_kg or weighed is not None) and "masses" not in record.repaint:
        record.repaint.append("masses")
    effect = payload["approval_effect"]
    if effect == "void" or (effect == "ask" and record.approval != "void"):
        record.approval = effect
    _close_order(record, payload)


def fold_repair(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Damage was mended: the damages named, or all that is open."""
    be_seen(record, entry, payload, notes)
    mended = set(payload["damages"])
    record.damages = [kept for kept in record.damages if mended and kept.id not in mended]
    _close_order(record, payload)


def fold_marking(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Paint was renewed or removed."""
    be_seen(record, entry, payload, notes)
    if masses := payload.get("masses"):
        take_masses(record, masses, repainted=True)
    if payload["action"] in ("repainted", "re-marked") and "mark" in record.repaint:
        record.repaint.remove("mark")


def fold_plate_change(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The safety plate went, came, or the unit was approved anew."""
    if payload["action"] == "removed":
        lose_plate(record)
        return
    if payload["action"] == "re-approved":
        record.approval = "approved"
    if plate := payload.get("plate"):
        take_plate(record, plate)


def _tare_change_kg(fitting: dict[str, Any]) -> int:
    if not fitting["permanent"]:
        return 0
    each: int = fitting["mass_kg"] - fitting["cut_out_kg"]
    return each * int(fitting["count"])


def _close_order(record: Record, payload: Payload) -> None:
    if order := payload.get("order"):
        record.orders = [kept for kept in record.orders if kept.id != order]
