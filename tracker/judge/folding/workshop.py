"""How orders, fittings, repairs, paint and plates change a record."""

from __future__ import annotations

from typing import Any

from schemas.records import Record
from shared.masses import is_same_mass, write_kilograms
from shared.work import ApprovalEffect, strongest
from tracker.judge import work_rules
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding import tare, work_orders
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
    work_orders.open_order(record, entry, payload)


def fold_modification(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Pieces were fitted: the tare as it now is, the payload, the approval, the paint to renew."""
    be_seen(record, entry, payload, notes)
    for fitting in payload["fittings"]:
        work = fitting["work"]
        record.fittings[work] = record.fittings.get(work, 0) + fitting["count"]
    before_kg, doubt = record.tare_kg, tare.doubt_tare(record, payload)
    if doubt is not None:
        notes.ask(record, entry, doubt)
    is_adopted = doubt is None or notes.is_settled(entry, doubt)
    if is_adopted:
        _take_work_on_tare(record, payload)
    _take_work_on_shell(record, entry, payload, is_weighed=is_adopted)
    if is_adopted:
        for finding in tare.tell_tare(record, payload, before_kg):
            notes.tell(finding)
    work_orders.take_work(record, entry, payload)


def fold_repair(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Damage was mended: the damages named, or all that is open where no work is named either."""
    be_seen(record, entry, payload, notes)
    mended, all_of_it = set(payload["damages"]), not (payload["damages"] or payload.get("work"))
    record.damages = [kept for kept in record.damages if not all_of_it and kept.id not in mended]
    work_orders.take_work(record, entry, payload)


def fold_marking(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Paint was renewed or removed."""
    be_seen(record, entry, payload, notes)
    if masses := payload.get("masses"):
        _take_paint(record, entry, masses, notes)
    if payload["action"] in ("removed", "re-marked"):
        record.previous_owner = None
    if payload["action"] == "labels-removed":
        # What was carried or fumigated is no less in the air for it.
        record.placards = None
    if payload["action"] in ("repainted", "re-marked") and "mark" in record.repaint:
        record.repaint.remove("mark")
    work_orders.take_work(record, entry, payload)


def fold_plate_change(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The safety plate went or came, or the approving body gave or confirmed the approval."""
    if payload["action"] == "removed":
        lose_plate(record)
        return
    confirmed = payload["action"] == "confirmed" and record.approval == "ask"
    if payload["action"] == "re-approved" or confirmed:
        record.approval = "approved"
    if plate := payload.get("plate"):
        take_plate(record, plate)


def _take_work_on_tare(record: Record, payload: Payload) -> None:
    """Let the tare be what was weighed, or else what the sum gives, and ask for its paint."""
    change_kg = sum(map(tare.change_kg, payload["fittings"]))
    weighed = payload.get("weighed_tare_kg")
    if weighed is not None:
        record.tare_kg = weighed
    elif record.tare_kg is not None:
        record.tare_kg = max(0, record.tare_kg + change_kg)
    complete_payload(record)
    is_painted = record.tare_kg is not None and record.tare_kg == record.painted_tare_kg
    if (change_kg or weighed is not None) and not is_painted and "masses" not in record.repaint:
        record.repaint.append("masses")


def _take_work_on_shell(
    record: Record, entry: Entry, payload: Payload, *, is_weighed: bool
) -> None:
    """Lower the approval by what was told or the catalogue says; ask for weighing after cutting.

    `is_weighed` is False where a weight that was told is not to be believed.
    """
    told = ApprovalEffect(payload["approval_effect"])
    resolved = ApprovalEffect(entry.resolved.get("approval_effect", told))
    effect = strongest((told, resolved))
    if effect is ApprovalEffect.VOID:
        record.approval = "void"
    elif effect is ApprovalEffect.ASK and record.approval != "void":
        record.approval = "ask"
    if is_weighed and payload.get("weighed_tare_kg") is not None:
        record.to_weigh, record.to_weigh_since = False, None
    elif entry.resolved.get("cuts"):
        record.to_weigh = True
        record.to_weigh_since = record.to_weigh_since or entry.effective_at


def _take_paint(record: Record, entry: Entry, masses: dict[str, Any], notes: Notes) -> None:
    """Adopt the masses painted anew; ask first where the tare is not the one after the work."""
    painted_kg, known_kg = masses.get("tare_kg"), record.tare_kg
    if painted_kg is None or known_kg is None or _is_right_paint(record, painted_kg, known_kg):
        take_masses(record, masses, repainted=True)
        return
    seen, expected = write_kilograms(painted_kg), write_kilograms(known_kg)
    doubt = work_rules.PAINTED_DIFFERS.finding("masses", seen=seen, expected=expected)
    notes.ask(record, entry, doubt)
    if notes.is_settled(entry, doubt) and "masses" not in entry.resolved.get("repaint", ()):
        take_masses(record, masses, repainted=True)
        return
    take_masses(record, {name: value for name, value in masses.items() if name != "tare_kg"})
    record.painted_tare_kg = painted_kg


def _is_right_paint(record: Record, painted_kg: int, known_kg: int) -> bool:
    """Say whether a tare is the one to paint: to the kilogram where work gave it, else rounded."""
    if "masses" in record.repaint:
        return painted_kg == known_kg
    return is_same_mass(painted_kg, known_kg)
