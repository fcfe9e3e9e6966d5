"""How a record keeps what is known of the air inside, and of labels and cargo that speak of it."""

from __future__ import annotations

from schemas.records import Record
from tracker.judge import gas
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes


def take_arrival(record: Record, payload: Payload) -> None:
    """Begin anew: what was aired before it came says nothing of the air it comes with."""
    record.placards, record.last_cargo = payload.get("placards"), payload.get("last_cargo")
    record.air = "suspect" if record.placards or record.last_cargo else "unknown"


def take_inspection(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    """Keep who saw to the air; that somebody went into suspect air before that is a breach."""
    said = payload.get("gas")
    if said is None:
        _report_entering(record, entry, notes)
        return
    not_clear = said.get("result") == "not-clear"
    if cargo := said.get("last_cargo"):
        record.last_cargo = cargo
    if not_clear or (cargo and record.air == "unknown"):
        record.air = "suspect"
    _report_entering(record, entry, notes)
    if said.get("tested_by") and said.get("result") == "clear":
        record.air = "tested"
    elif said.get("ventilated_by") and not not_clear:
        record.air = "ventilated"
    if said.get("labels_off"):
        record.placards = None


def _report_entering(record: Record, entry: Entry, notes: Notes) -> None:
    if record.air == "suspect" and entry.resolved.get("entered_unaired"):
        words = gas.suspicion(record)
        notes.report(record, entry, gas.ENTERED_BEFORE_AIR.finding("gas", seen=words, words=words))
