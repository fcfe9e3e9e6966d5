"""Show how a delivery of many units came in: which arrived, which are missing, what differs.

Trade calls it a batch; here it is a delivery, since `batch.py` judges events in batches.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from schemas.records import Record
from shared.errors import HardstandError
from tracker.judge.deliveries import Tick, tick_off
from tracker.judge.entry import Entry
from tracker.judge.fold import fold, last_moment_at
from tracker.services.context import Context
from tracker.services.sight import Sight
from tracker.services.stream import entry_of
from tracker.store import deliveries, history, people, records


class DeliveryUnknownError(HardstandError):
    """No report names a batch, or none that may be seen; carries it."""

    def __init__(self, batch: str) -> None:
        self.batch = batch
        super().__init__(
            f"No report names the batch {batch[:80]!r}",
            expected="a batch that units were pre-advised with, or came in with",
            remedy="Look at the record of one of its units, which names it",
        )


def show_delivery(context: Context, sight: Sight, batch: str) -> dict[str, Any]:
    """Return the shortage report of a batch, as far as it may be seen; all JSON.

    Returns:
        `batch`; `counts` of `advised arrived missing unexpected differing`; `units`, by mark, each
        with `unit_id mark tag state depot expected_on supplier purpose arrived_at arrived_by
        presence condition questions claims differs[field advised read event]`.

    Raises:
        DeliveryUnknownError: no report names the batch, or none of a depot of theirs.
    """
    with context.engine.begin() as connection:
        unit_ids = deliveries.units_of_batch(connection, batch)
        rows = history.load(connection, unit_ids)
        loaded = records.load(connection, unit_ids)
        seen = [
            _as_seen(sight, loaded[unit_id], list(map(entry_of, rows[unit_id])))
            for unit_id in unit_ids
            if unit_id in loaded
        ]
        units = [
            _unit(record, tick)
            for record, entries in seen
            if (tick := tick_off(entries, batch)) is not None
            and sight.reaches(_depot(tick, record))
        ]
        told: list[dict[str, Any]] = people.reveal(connection, units)
    if not told:
        raise DeliveryUnknownError(batch)
    told.sort(key=lambda unit: (unit["mark"] or "", unit["tag"] or "", unit["unit_id"]))
    return {"batch": batch, "counts": _counts(told), "units": told}


def list_awaited(context: Context, sight: Sight, *, size: int = 100) -> list[dict[str, Any]]:
    """Return batches of which units are still to come to a depot of theirs, the soonest first.

    Each with `batch depot units expected_on`, `units` being those still to come.
    """
    with context.engine.begin() as connection:
        return deliveries.list_awaited(connection, sight.depots, size)


def _as_seen(sight: Sight, record: Record, entries: list[Entry]) -> tuple[Record, list[Entry]]:
    """Return a unit as whoever asks sees it: to a depot that has it not, up to its leaving.

    To one that only announced it, as it was announced there: a batch tells nobody where else a
    unit is, or how it stands there.
    """
    if sight.depots is None or sight.reaches(record.depot):
        return record, entries
    until = last_moment_at(entries, sight.depots) or ""
    seen = [
        one for one in entries if one.payload["depot"] in sight.depots or one.effective_at <= until
    ]
    return fold(record.unit_id, seen), seen


def _depot(tick: Tick, record: Record) -> str | None:
    """Return the depot that the unit was announced to, else the one that it came to."""
    return record.depot if tick.advised is None else str(tick.advised["depot"])


def _unit(record: Record, tick: Tick) -> dict[str, Any]:
    advised = tick.advised or {}
    return {
        "unit_id": record.unit_id,
        "mark": record.mark,
        "tag": record.tag,
        "state": tick.state,
        "depot": advised.get("depot") or record.depot,
        "expected_on": advised.get("expected_on"),
        "supplier": advised.get("supplier"),
        "purpose": advised.get("purpose") or record.purpose,
        "arrived_at": tick.arrived_at,
        "arrived_by": tick.arrived_by,
        "presence": record.presence,
        "condition": record.condition,
        "questions": [question.asks for question in record.questions],
        "claims": [claim.says for claim in record.claims],
        "differs": [asdict(one) for one in tick.differs],
    }


def _counts(units: list[dict[str, Any]]) -> dict[str, int]:
    states = [unit["state"] for unit in units]
    return {
        "advised": sum(state != "unexpected" for state in states),
        **{state: states.count(state) for state in ("arrived", "missing", "unexpected")},
        "differing": sum(bool(unit["differs"]) for unit in units),
    }
