"""Rebuild every record from its history, or check that it is what its history adds up to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from uuid import UUID

from sqlalchemy import Connection

from schemas.orders import dump_order
from schemas.records import Record
from tracker.judge import fold
from tracker.judge.fold import FOLD_VERSION
from tracker.judge.order_fold import fold_order
from tracker.services.context import Context
from tracker.services.record_rows import row_of
from tracker.services.stream import entry_of
from tracker.store import folded, history, orders, questions, records
from tracker.store.history import HistoryRow

_AT_ONCE = 500


@dataclass(slots=True)
class Rebuilding:
    """What rebuilding found: the units and orders that were not as their history says."""

    units: int = 0
    orders: int = 0
    differing: list[UUID] = field(default_factory=list)
    made_by: int = FOLD_VERSION
    """The version of the fold that had made the records."""

    @property
    def is_of_another_fold(self) -> bool:
        """Say whether the records were made by another version than this program's."""
        return self.made_by != FOLD_VERSION


def must_rebuild(context: Context) -> bool:
    """Say whether the records were made by another version of the fold than this program's."""
    with context.engine.begin() as connection:
        return folded.version(connection) != FOLD_VERSION


def rebuild(context: Context, *, check_only: bool) -> Rebuilding:
    """Fold every history anew; write what differs, or with `check_only` only say it.

    A record differs by any of its columns, and when no history stands behind it.

    Goes by lots of units, each in a transaction that locks their heads: may run beside drains, may
    be broken off and called again. At the end all records are of this program's fold.
    """
    with context.engine.begin() as connection:
        found = Rebuilding(made_by=folded.version(connection))
    after: UUID | None = None
    while True:
        with context.engine.begin() as connection:
            lot = [stream for stream, _ in history.read_heads(connection, after, _AT_ONCE)]
            if not lot:
                _remove_unreported(connection, found, check_only=check_only)
                if not check_only:
                    folded.note(connection, FOLD_VERSION)
                return found
            history.lock_heads(connection, lot)
            _rebuild_lot(connection, lot, found, check_only=check_only)
        after = lot[-1]


def _rebuild_lot(
    connection: Connection, lot: Sequence[UUID], found: Rebuilding, *, check_only: bool
) -> None:
    rows = history.load(connection, lot)
    kept = records.load_rows(connection, lot)
    asked = questions.kept_for(connection, lot)
    ordered = orders.load_bodies(connection, lot)
    for unit_id in lot:
        if rows[unit_id] and rows[unit_id][0].kind == "order":
            _rebuild_order(connection, rows[unit_id], ordered, found, check_only=check_only)
            continue
        record = fold.fold(str(unit_id), map(entry_of, rows[unit_id]))
        found.units += 1
        same = kept.get(unit_id) == row_of(record)
        if same and asked.get(unit_id, []) == questions.as_kept(record):
            continue
        found.differing.append(unit_id)
        if not check_only:
            _write(connection, record, is_new=unit_id not in kept)


def _rebuild_order(
    connection: Connection,
    rows: Sequence[HistoryRow],
    kept: dict[UUID, str],
    found: Rebuilding,
    *,
    check_only: bool,
) -> None:
    order_id = rows[0].stream_id
    order = fold_order(str(order_id), map(entry_of, rows))
    found.orders += 1
    if kept.get(order_id) == dump_order(order).decode():
        return
    found.differing.append(order_id)
    if not check_only:
        orders.write(connection, [order])


def _remove_unreported(connection: Connection, found: Rebuilding, *, check_only: bool) -> None:
    """Find records and orders that no history stands behind; without `check_only` they go."""
    unreported = records.list_without_head(connection)
    unplaced = orders.list_without_head(connection)
    found.differing += [*unreported, *unplaced]
    if not check_only and unreported:
        records.remove(connection, unreported)
    if not check_only and unplaced:
        orders.remove(connection, unplaced)


def _write(connection: Connection, record: Record, *, is_new: bool) -> None:
    row = row_of(record)
    records.write(connection, [row] if is_new else [], [] if is_new else [row])
    questions.replace(connection, record)
