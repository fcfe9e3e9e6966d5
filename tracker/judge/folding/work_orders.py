"""How reports of work close orders, also those that were recorded after the work was done.

A report that names an order counts for its lines, whenever either came. One that names none counts
for an order only if it tells of work done between the asking for it and its recording: the workshop
could not name an order that nobody showed it.

Work waits for its order for `_LONGEST` and no longer: a record is no place for reports of orders
that were closed before, or that never come. An order that arrives later still stands open until
somebody reports its work again, or cancels it.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from schemas.records import OpenOrder, Record, WorkDone
from tracker.judge.entry import Entry, Payload, moment_read

_FITTED = "modification"

_LONGEST: Final = timedelta(days=30)
"""Far longer than a phone is without signal. Part of the fold: it never changes for old records."""


def open_order(record: Record, entry: Entry, payload: Payload) -> None:
    """Let an order stand, unless all that it asks for is done."""
    lines: dict[str, int] = {}
    for line in payload["lines"]:
        lines[line["work"]] = lines.get(line["work"], 0) + line["count"]
    told_by = entry.resolved.get("told_by")
    if told_by is not None:
        told_by = {work: kind for work, kind in told_by.items() if work in lines}
    order = OpenOrder(
        entry.event_id, lines, entry.effective_at, payload.get("due_on"), told_by=told_by
    )
    asked_at = moment_read(payload["happened_at"])
    record.orders.append(order)
    _forget_old(record, entry)
    for done in [*record.work_ahead]:
        ours = done.order == order.id or (done.order is None and done.at >= asked_at)
        if ours and _count(record, order, done):
            record.work_ahead.remove(done)
        if order not in record.orders:
            forget_order(record, order.id)
            break  # all of it is done; later work is for others


def take_work(record: Record, entry: Entry, payload: Payload) -> None:
    """Let a report of work count for the order it names; keep it for one that is yet to come."""
    done = WorkDone(
        event=entry.event_id,
        kind=entry.kind,
        at=entry.effective_at,
        pieces=_pieces(payload),
        order=payload.get("order"),
    )
    _forget_old(record, entry)
    for work in payload.get("work", ()):
        _treat(record, work, done)
    named = [order for order in record.orders if order.id == done.order]
    for order in named:
        _count(record, order, done)
    if not named and (done.pieces or done.order is not None):
        record.work_ahead.append(done)


def begin_stay(record: Record, entry: Entry) -> None:
    """Forget what was done without an order in an earlier stay, and what was mended or painted."""
    _forget_old(record, entry)
    record.treated = {}
    if record.work_ahead:
        record.work_ahead = [done for done in record.work_ahead if done.order is not None]


def forget_order(record: Record, order: str) -> None:
    """Forget an order that is done or cancelled, and what was reported for it."""
    record.orders = [kept for kept in record.orders if kept.id != order]
    record.work_ahead = [done for done in record.work_ahead if done.order != order]


def _forget_old(record: Record, entry: Entry) -> None:
    if record.work_ahead:
        now = datetime.fromisoformat(entry.effective_at)
        record.work_ahead = [
            done for done in record.work_ahead if now - datetime.fromisoformat(done.at) <= _LONGEST
        ]


def _pieces(payload: Payload) -> dict[str, int | None]:
    """Return what was done by line, empty where the report does not say which lines."""
    pieces: dict[str, int | None] = dict.fromkeys(payload.get("work", ()))
    for fitting in payload.get("fittings", ()):
        work = fitting["work"]
        pieces[work] = (pieces.get(work) or 0) + fitting["count"]
    return pieces


def _count(record: Record, order: OpenOrder, done: WorkDone) -> bool:
    """Let work count for an order, which goes when nothing is left of it; say whether it did."""
    names_it = done.order == order.id
    if order.told_by is None and names_it:
        for work in order.left():
            _treat(record, work, done)
        record.orders.remove(order)
        return True
    counted = False
    for work, wanted in order.left().items():
        if work in done.pieces:
            pieces = done.pieces[work]
        elif names_it and not done.pieces and _told_by(order, work) == done.kind != _FITTED:
            pieces = None
        else:
            continue
        _treat(record, work, done)
        order.done[work] = order.done.get(work, 0) + (wanted if pieces is None else pieces)
        counted = True
    if not order.left():
        record.orders.remove(order)
    return counted or names_it


def _treat(record: Record, work: str, done: WorkDone) -> None:
    """Note that work was mended or painted; what is fitted stands among the fittings."""
    if done.kind != _FITTED:
        record.treated[work] = max(done.at, record.treated.get(work, ""))


def _told_by(order: OpenOrder, work: str) -> str:
    return (order.told_by or {}).get(work, _FITTED)
