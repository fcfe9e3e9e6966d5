"""Carry out what concerns an order by quantity within a batch, in its history and the unit's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from schemas.events.base import Decision
from schemas.events.deal import Cancellation, Order, PassingOn, Payment, Release
from schemas.events.gate import Clearance
from schemas.findings import Finding, Severity
from schemas.records import Record
from tracker.judge import days, decisions, leaving, order_rules, orders, price
from tracker.judge.entry import Entry, moment_after
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.passing import NEW_REFERENCE, judge_passing_on_order
from tracker.judge.payment import judge_payment_of_order
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
        case Clearance() | PassingOn():
            return work.find_order_by_reference(reference_of(event)) is not None
        case Payment():
            return not subjects_of(event)
        case Cancellation():
            return not subjects_of(event) or _sold_on_order(work, event) is not None
        case _:
            return False


def carry_out(
    work: WorkingSet, stock: FreeStock, one: InHand, rules: Rulebook, reference: str
) -> Done:
    """Judge and carry out a decision that `concerns_order`.

    `reference` is the collection reference to give, where the event brings none.
    """
    wrong = days.amiss(one.event, one.waiting.received_at, rules)
    if _refuses(wrong):
        return Done(wrong)
    match one.event:
        case Order():
            return _place(work, stock, one, one.event, rules)
        case Release() if subjects_of(one.event):
            return _allot_now(work, stock, one, one.event, rules, reference)
        case Release():
            return _give_reference(work, one, one.event, reference)
        case Clearance():
            return _collect(work, stock, one, one.event, rules)
        case PassingOn():
            return _pass_on(work, one, one.event, reference)
        case Payment():
            return _pay(work, one, one.event)
        case Cancellation():
            return _cancel(work, one, one.event, rules)
        case other:
            raise TypeError(f"{other.kind} concerns no order")


def _place(work: WorkingSet, stock: FreeStock, one: InHand, event: Order, rules: Rulebook) -> Done:
    found = orders.judge_order(event, stock.promises(event.depot))
    found = override(found, event.override_reason) + price.too_fine(event, rules)
    if _refuses(found):
        return Done(found)
    terms = {price.TERMS: price.terms_of(rules, event.currency)}
    return _record(work, work.open_order(event.id), one, found, terms)


def _give_reference(work: WorkingSet, one: InHand, event: Release, reference: str) -> Done:
    stream = work.find_order(event.order)
    order = None if stream is None else stream.order
    found = orders.judge_release_on_order(event, order, one.waiting.received_at)
    found = override(found, event.override_reason) + taken_reference(work, event)
    if stream is None or _refuses(found):
        return Done(found, stream)
    given = event.reference or reference
    work.name(stream, [reference_subject(given)])
    return _record(work, stream, one, found, {"reference": given})


def _allot_now(
    work: WorkingSet,
    stock: FreeStock,
    one: InHand,
    event: Release,
    rules: Rulebook,
    reference: str,
) -> Done:
    unit, named = _find_unit(work, event, rules)
    stream = work.find_order(event.order)
    if unit is None or named.is_refused:
        return Done(named.findings, unit)
    if stream is None:
        return Done([order_rules.NO_ORDER.finding("order", seen=str(event.order))], unit)
    now = one.waiting.received_at
    authority = event.marks_authority
    promises = stock.promises(unit.record.depot)
    found = orders.judge_allotment(
        unit.record, stream.order, promises, now, rules, authority=authority
    )
    if event.count != 1:
        found.append(order_rules.ONE_UNIT.finding("count", seen=event.count))
    found = override(found, event.override_reason) + taken_reference(work, event)
    named.add(found)
    if _refuses(named.findings):
        return Done(named.findings, unit)
    named.resolved["reference"] = event.reference or reference
    work.name(unit, [reference_subject(named.resolved["reference"])])
    return _record_both(work, unit, stream, one, named)


def _collect(
    work: WorkingSet, stock: FreeStock, one: InHand, event: Clearance, rules: Rulebook
) -> Done:
    unit, named = _find_unit(work, event, rules)
    stream = work.find_order_by_reference(reference_of(event))
    if unit is None or named.is_refused or stream is None:
        return Done(named.findings, unit)
    now = one.waiting.received_at
    record = leaving.as_it_left(unit.record, event)
    promises = stock.promises(record.depot)
    driver = orders.Driver(event.reference, event.haulier)
    found = orders.judge_collection(driver, record, stream.order, promises, now, rules)
    named.add(override(found, event.override_reason))
    note = orders.find_note(stream.order, event.reference)
    if note is None or _refuses(named.findings):
        return Done(named.findings, unit)
    named.resolved |= orders.what_opens(note)
    return _record_both(work, unit, stream, one, named)


def _pass_on(work: WorkingSet, one: InHand, event: PassingOn, reference: str) -> Done:
    stream = work.find_order_by_reference(reference_of(event))
    if stream is None:
        raise LookupError("the order of a reference is not loaded")
    found = judge_passing_on_order(event, stream.order, one.waiting.received_at)
    if _refuses(found):
        return Done(found, stream)
    work.name(stream, [reference_subject(reference)])
    return _record(work, stream, one, found, {NEW_REFERENCE: reference})


def _pay(work: WorkingSet, one: InHand, event: Payment) -> Done:
    stream = work.find_order(event.pays)
    found = judge_payment_of_order(event, None if stream is None else stream.order)
    if stream is None or _refuses(found):
        return Done(found, stream)
    return _record(work, stream, one, found, {})


def _find_unit(work: WorkingSet, event: Decision, rules: Rulebook) -> tuple[Unit | None, Judgement]:
    """Return the one unit that an event names, and what its names tell or why they cannot mean it.

    What is adopted of them is the unit's name from then on, if the event is recorded.
    """
    unit, other = work.find_both(subjects_of(event))
    if unit is None:
        return None, decisions.refuse_unknown(event)
    if other is not None:
        return unit, decisions.refuse_two_units(event)
    return unit, decisions.identify(event, unit.record, rules)


def _cancel(work: WorkingSet, one: InHand, event: Cancellation, rules: Rulebook) -> Done:
    if (unit := _sold_on_order(work, event)) is not None:
        return _return(work, unit, one, rules)
    stream = work.find_order(event.cancels) or work.find_order_of_event(event.cancels)
    if stream is None:
        return Done([order_rules.NO_ORDER.finding("cancels", seen=str(event.cancels))])
    if stream.order.state != "open" and str(event.cancels) != stream.order.paid_by:
        return Done([order_rules.CLOSED.finding("cancels", seen=stream.order.state)], stream)
    return _record(work, stream, one, [], {})


def _sold_on_order(work: WorkingSet, event: Cancellation) -> Unit | None:
    """Return the unit whose going on an order is cancelled, named or not."""
    unit = work.find(subjects_of(event)) or work.find_by_event(event.cancels)
    sale = unit.record.sale if unit is not None else None
    return unit if sale and sale.order and sale.id == str(event.cancels) else None


def _return(work: WorkingSet, unit: Unit, one: InHand, rules: Rulebook) -> Done:
    """Take a unit off its order: the order waits for another, and its reference counts anew."""
    named = Judgement()
    if subjects_of(one.event) and isinstance(one.event, Decision):
        _, named = _find_unit(work, one.event, rules)
    sale, release = unit.record.sale, unit.record.release
    stream = work.find_order(UUID(sale.order)) if sale and sale.order else None
    if stream is None:
        raise LookupError(f"the order of unit {unit.unit_id} is not loaded")
    if named.is_refused:
        return Done(named.findings, unit)
    at = moment_of(one, unit.record, stream)
    returns = {
        "returns": str(unit.unit_id),
        "reference": release.reference if release is not None else "",
    }
    done = _record_named(work, unit, one, named, at)
    work.record_on_order(stream, _entry(one, [], returns, at))
    return done


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
    seq = work.record_on_order(stream, _entry(one, found, resolved, moment_of(one, None, stream)))
    return Done(found, stream, seq)


def _record_both(
    work: WorkingSet, unit: Unit, stream: OrderStream, one: InHand, named: Judgement
) -> Done:
    """Record a unit's going on an order in both histories; the verdict names the unit's."""
    at = moment_of(one, unit.record, stream)
    reference = named.resolved["reference"]
    named.resolved["sale"] = orders.sale_of(stream.order, str(one.event.id), at)
    done = _record_named(work, unit, one, named, at)
    allots = {"reference": reference, "allots": str(unit.unit_id)}
    work.record_on_order(stream, _entry(one, named.findings, allots, at))
    return done


def _record_named(work: WorkingSet, unit: Unit, one: InHand, named: Judgement, at: str) -> Done:
    """Record in a unit's history; let what was adopted of the event's names mean the unit."""
    subjects = subjects_of(one.event)
    work.name(unit, subjects[1:] if "mark" in named.doubted else subjects)
    entry = replace(_entry(one, named.findings, named.resolved, at), doubted=named.doubted)
    told, seq = work.record_entry(unit, entry)
    return Done([*named.findings, *told], unit, seq)


def moment_of(one: InHand, record: Record | None, stream: OrderStream) -> str:
    """Return the moment from which a decision counts: after all that it was judged by."""
    last = stream.order.last_key
    if record is not None:
        last = max(last, record.last_key)
    return moment_after(one.waiting.received_at, one.event.kind, str(one.event.id), last)


def _entry(one: InHand, found: list[Finding], resolved: dict[str, Any], at: str) -> Entry:
    return Entry(
        event_id=str(one.event.id),
        kind=one.event.kind,
        effective_at=at,
        payload=one.payload,
        resolved=resolved,
        findings=[finding.model_dump(mode="json") for finding in found],
    )
