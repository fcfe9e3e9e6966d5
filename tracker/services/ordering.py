"""Carry out what concerns an order by quantity within a batch, in its history and the unit's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from schemas.events.base import Decision
from schemas.events.deal import Cancellation, Order, Release
from schemas.events.gate import Clearance
from schemas.findings import Finding, Severity
from schemas.records import Record
from tracker.judge import decisions, order_rules, orders
from tracker.judge.entry import Entry, moment_after, moment_text
from tracker.judge.judgement import Rulebook
from tracker.judge.release_rules import override
from tracker.judge.subject import reference_of, reference_subject, subjects_of
from tracker.services.free_stock import FreeStock
from tracker.services.in_hand import InHand
from tracker.services.stream import Stream
from tracker.services.working_set import OrderStream, Unit, WorkingSet


@dataclass(slots=True)
class Done:
    """What became of it: recorded as `seq` of `stream`, or refused with findings."""

    findings: list[Finding] = field(default_factory=list)
    stream: Stream | None = None
    seq: int | None = None


def concerns_order(work: WorkingSet, event: Decision) -> bool:
    """Say whether a decision is about an order rather than about one unit's own sale."""
    match event:
        case Order():
            return True
        case Release():
            return event.order is not None
        case Clearance():
            return work.find_order_by_reference(reference_of(event)) is not None
        case Cancellation():
            return event.mark is None and event.tag is None
        case _:
            return False


def carry_out(
    work: WorkingSet, stock: FreeStock, one: InHand, rules: Rulebook, reference: str
) -> Done:
    """Judge and carry out a decision that `concerns_order`.

    `reference` is the collection reference to give, where the event brings none.
    """
    match one.event:
        case Order():
            return _place(work, stock, one, one.event)
        case Release() if subjects_of(one.event):
            return _allot_now(work, one, one.event, rules, reference)
        case Release():
            return _give_reference(work, one, one.event, reference)
        case Clearance():
            return _collect(work, one, one.event, rules)
        case Cancellation():
            return _cancel(work, one, one.event)
        case other:
            raise TypeError(f"{other.kind} concerns no order")


def _place(work: WorkingSet, stock: FreeStock, one: InHand, event: Order) -> Done:
    available = stock.availability(event.depot, one.payload["description"])
    found = override(orders.judge_order(event, available), event.override_reason)
    if _refuses(found):
        return Done(found)
    stream = work.open_order(event.id)
    return _record(work, stream, one, found, {})


def _give_reference(work: WorkingSet, one: InHand, event: Release, reference: str) -> Done:
    stream = work.find_order(event.order)
    order = None if stream is None else stream.order
    found = override(orders.judge_release_on_order(event, order), event.override_reason)
    found += taken_reference(work, event)
    if stream is None or _refuses(found):
        return Done(found, stream)
    given = event.reference or reference
    work.name(stream, [reference_of(event) or reference_subject(reference)])
    return _record(work, stream, one, found, {"reference": given})


def _allot_now(
    work: WorkingSet, one: InHand, event: Release, rules: Rulebook, reference: str
) -> Done:
    unit, stream = work.find(subjects_of(event)), work.find_order(event.order)
    if unit is None:
        return Done([decisions.UNKNOWN_UNIT.finding("mark", seen=event.mark or event.tag)])
    now = one.waiting.received_at
    order = None if stream is None else stream.order
    found = orders.judge_allotment(unit.record, order, str(event.order), now, rules)
    found = override(found, event.override_reason) + taken_reference(work, event)
    if stream is None or _refuses(found):
        return Done(found, unit)
    given = event.reference or reference
    work.name(unit, [reference_of(event) or reference_subject(reference)])
    return _record_both(work, unit, stream, one, found, {"reference": given})


def _collect(work: WorkingSet, one: InHand, event: Clearance, rules: Rulebook) -> Done:
    unit = work.find(subjects_of(event))
    stream = work.find_order_by_reference(reference_of(event))
    if unit is None or stream is None:
        return Done([decisions.UNKNOWN_UNIT.finding("mark", seen=event.mark or event.tag)])
    now = one.waiting.received_at
    found = orders.judge_collection(event, unit.record, stream.order, now, rules)
    found = override(found, event.override_reason)
    if _refuses(found):
        return Done(found, unit)
    return _record_both(work, unit, stream, one, found, {"reference": event.reference})


def _cancel(work: WorkingSet, one: InHand, event: Cancellation) -> Done:
    stream = work.find_order(event.cancels) or work.find_order_of_event(event.cancels)
    if stream is None or stream.order.state != "open":
        seen = str(event.cancels)
        return Done([order_rules.NO_ORDER.finding("cancels", seen=seen)], stream)
    return _record(work, stream, one, [], {})


def taken_reference(work: WorkingSet, event: Release) -> list[Finding]:
    """Return what stands against giving the collection reference that a release brings."""
    subject = reference_of(event)
    if subject is None or subject not in work.meaning:
        return []
    return [order_rules.REFERENCE_TAKEN.finding("reference", seen=event.reference)]


def _refuses(found: Sequence[Finding]) -> bool:
    return any(finding.severity is Severity.REFUSE for finding in found)


def _record(
    work: WorkingSet,
    stream: OrderStream,
    one: InHand,
    found: list[Finding],
    resolved: dict[str, Any],
) -> Done:
    seq = work.record_on_order(stream, _entry(one, found, resolved, moment_of(one, None)))
    return Done(found, stream, seq)


def _record_both(
    work: WorkingSet,
    unit: Unit,
    stream: OrderStream,
    one: InHand,
    found: list[Finding],
    resolved: dict[str, Any],
) -> Done:
    """Record a unit's going on an order in both histories; the verdict names the unit's."""
    at = moment_of(one, unit.record)
    terms = orders.sale_of(stream.order, str(one.event.id), at)
    told, seq = work.record_entry(unit, _entry(one, found, resolved | {"sale": terms}, at))
    allots = resolved | {"allots": str(unit.unit_id)}
    work.record_on_order(stream, _entry(one, found, allots, at))
    return Done([*found, *told], unit, seq)


def moment_of(one: InHand, record: Record | None) -> str:
    """Return the moment from which a decision counts: after all that it was judged by."""
    received_at: datetime = one.waiting.received_at
    if record is None:
        return moment_text(received_at)
    return moment_after(received_at, one.event.kind, str(one.event.id), record.last_key)


def _entry(one: InHand, found: list[Finding], resolved: dict[str, Any], at: str) -> Entry:
    return Entry(
        event_id=str(one.event.id),
        kind=one.event.kind,
        effective_at=at,
        payload=one.payload,
        resolved=resolved,
        findings=[finding.model_dump(mode="json") for finding in found],
    )
