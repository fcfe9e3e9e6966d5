"""The row that keeps a record: its columns, and the day that judging says it owes something."""

from __future__ import annotations

from schemas.records import Record
from tracker.judge import due
from tracker.store import records
from tracker.store.records import RecordRow


def row_of(record: Record) -> RecordRow:
    """Return the row that keeps `record`. It follows from the record alone."""
    return records.row_of(record, due.owes_on(record))
