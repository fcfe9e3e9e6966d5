"""One row of a history as it is shown, of a unit as of an order."""

from __future__ import annotations

from typing import Any

import orjson

from tracker.judge.entry import moment_text
from tracker.store.history import HistoryRow


def show_row(row: HistoryRow) -> dict[str, Any]:
    """Return a row as JSON, people in it still as tokens."""
    body = orjson.loads(row.body)
    event = body["event"]
    return {
        "seq": row.seq,
        "id": str(row.event_id),
        "kind": row.kind,
        "happened_at": event["happened_at"],
        "effective_at": moment_text(row.effective_at),
        "recorded_at": moment_text(row.recorded_at),
        "reported_by": event["reported_by"],
        "depot": event["depot"],
        "event": event,
        "findings": [*body.get("findings", ()), *body.get("told", ())],
        "doubted": body.get("doubted", []),
        "resolved": body.get("resolved", {}),
        "digest": row.digest.hex(),
    }
