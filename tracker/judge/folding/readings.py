"""How readings off a box enter its record: size-type, door masses, the safety plate."""

from __future__ import annotations

from typing import Any

from schemas.records import Record
from tracker.judge.entry import Payload


def take_readings(record: Record, payload: Payload) -> None:
    """Adopt what was read; what was doubted is no longer in `payload`."""
    if size_type := payload.get("size_type"):
        record.size_type = size_type
    for plain in ("colour", "provenance", "manufactured_in"):
        if value := payload.get(plain):
            setattr(record, plain, value)
    if masses := payload.get("masses"):
        take_masses(record, masses)
    if plate := payload.get("plate"):
        take_plate(record, plate)


def take_masses(record: Record, masses: dict[str, Any], *, repainted: bool = False) -> None:
    """Adopt door masses: kilograms as painted, payload completed where only it is missing.

    A tare equal to the one painted before the last fitting is old paint, not news: the tare as it
    now is stays, until `repainted` says that these are the new figures.
    """
    gross, tare = masses.get("gross_kg"), masses.get("tare_kg")
    if gross is not None:
        record.gross_kg = gross
    if tare is not None:
        old_paint = "masses" in record.repaint and tare == record.painted_tare_kg
        record.painted_tare_kg = tare
        if repainted or not old_paint:
            record.tare_kg = tare
            _settle_repaint(record)
    if cube := masses.get("cube_m3"):
        record.cube_m3 = str(cube)
    complete_payload(record)
    if record.payload_kg is None:
        record.payload_kg = masses.get("payload_kg")


def complete_payload(record: Record) -> None:
    """Set the payload to gross less tare, where both are known (CSC Annex I: P = R - T)."""
    if record.gross_kg is not None and record.tare_kg is not None:
        record.payload_kg = max(0, record.gross_kg - record.tare_kg)


def take_plate(record: Record, plate: dict[str, Any]) -> None:
    """Adopt a reading of the safety plate, or the statement that there is none."""
    if plate.get("no_plate"):
        lose_plate(record)
        return
    record.plate = {**(record.plate or {}), **plate}
    if record.approval in ("unknown", "none"):
        record.approval = "approved"
    if made := plate.get("manufactured_in"):
        record.manufactured_in = made
    if record.gross_kg is None:
        record.gross_kg = plate.get("gross_kg")
    take_examination(record, plate)


def lose_plate(record: Record) -> None:
    """There is no plate. What voided the approval, or must be asked about, stays so without it."""
    record.plate, record.next_examination = None, None
    if record.approval not in ("void", "ask"):
        record.approval = "none"


def take_examination(record: Record, said: dict[str, Any]) -> None:
    """Adopt the next examination: a month, or the programme that stands for it."""
    if month := said.get("next_examination"):
        record.next_examination = month
    elif said.get("programme"):
        record.next_examination = "programme"


def _settle_repaint(record: Record) -> None:
    if "masses" in record.repaint:
        record.repaint.remove("masses")
