"""Judge the passing on of a collection reference: only what still opens the barrier goes on."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from schemas.events.deal import PassingOn
from schemas.findings import Finding
from schemas.orders import OrderRecord
from schemas.records import Record
from shared.moments import moment_said
from tracker.judge import order_rules, orders, sale

NEW_REFERENCE: Final = "reference"
"""Under which name of `resolved` the reference stands that is good from then on."""


def judge_passing(event: PassingOn, record: Record, now: datetime) -> list[Finding]:
    """Return what stands against passing on the reference of a unit's own release."""
    release = record.release
    if release is None:
        return [sale.NO_RELEASE.finding("reference")]
    found = sale.hinders_reference(release, event.reference)
    if release.cleared:
        found.append(sale.USED_UP.finding("reference"))
    if release.expires_at and datetime.fromisoformat(release.expires_at) <= now:
        found.append(sale.EXPIRED.finding("reference", seen=moment_said(release.expires_at)))
    if event.count not in (None, 1):
        found.append(order_rules.TOO_MANY_PASSED.finding("count", seen=event.count, expected=1))
    return found


def judge_passing_on_order(event: PassingOn, order: OrderRecord, now: datetime) -> list[Finding]:
    """Return what stands against passing on a reference that an order has given."""
    note = orders.find_note(order, event.reference)
    if note is None:
        return [order_rules.REFERENCE_UNKNOWN.finding("reference", seen=event.reference)]
    found = orders.hinders_reference(note, now)
    if not found and event.count is not None and event.count > note.left:
        found.append(
            order_rules.TOO_MANY_PASSED.finding("count", seen=event.count, expected=note.left)
        )
    return found
