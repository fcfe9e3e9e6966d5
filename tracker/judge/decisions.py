"""Judge a decision: granted, or refused with every reason."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from schemas.events.base import Decision
from schemas.events.claim import ClaimClosed
from schemas.events.deal import (
    Cancellation,
    PassingOn,
    Payment,
    Release,
    Reservation,
    Sale,
    TakeBack,
)
from schemas.events.gate import Clearance
from schemas.events.hold import HoldCleared
from schemas.events.workshop import WorkOrder
from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.table_files import Certainty
from tracker.judge import (
    claims,
    days,
    leaving,
    order_rules,
    passing,
    payment,
    price,
    sale,
    work,
)
from tracker.judge.facts import MARK_DIFFERS, judge_identity
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.release_rules import override
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, decisions"

UNKNOWN_UNIT: Final = Rule(
    id="decision.unknown-unit",
    severity=Severity.REFUSE,
    sentence="No unit is known by {seen}. Read the mark again, or report its arrival first.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A decision about a unit nobody has reported; only an acquisition or a work order may "
    "come first.",
)
NOTHING_LIVE: Final = Rule(
    id="decision.nothing-to-cancel",
    severity=Severity.REFUSE,
    sentence="There is no live reservation, sale, payment, release or work order {seen} on this "
    "unit.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A cancellation of something that is not, or no longer, live.",
)
NO_SUCH_HOLD: Final = Rule(
    id="decision.no-such-hold",
    severity=Severity.REFUSE,
    sentence="No hold {seen} stands on this unit.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A hold is cleared by its id, while it stands.",
)
NOT_SOLD: Final = Rule(
    id="decision.not-sold",
    severity=Severity.REFUSE,
    sentence="It is not sold, so it cannot be taken back.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A take-back needs a sale.",
)
TWO_UNITS: Final = Rule(
    id="decision.two-units",
    severity=Severity.REFUSE,
    sentence="The mark {seen} and the tag {expected} are two units. Name the one you mean.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A decision names two units at once; which one is meant cannot be guessed.",
)
KNOWN_OTHERWISE: Final = Rule(
    id="decision.known-otherwise",
    severity=Severity.REFUSE,
    sentence="This unit is known as {expected}, not as {seen}. Read its mark again, and ask with "
    "that.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A decision names a unit by a sound mark that is not its own: it may be another box.",
)
RULES: Final = (
    UNKNOWN_UNIT,
    NOTHING_LIVE,
    NO_SUCH_HOLD,
    NOT_SOLD,
    TWO_UNITS,
    KNOWN_OTHERWISE,
)

MAY_COME_FIRST: Final = frozenset({"acquisition", "work-order", "hold"})
"""Decisions that may open a unit before anybody has reported it."""


def judge_decision(
    event: Decision, record: Record | None, received_at: datetime, rules: Rulebook
) -> Judgement:
    """Return whether a decision about the unit of `record` is granted.

    Args:
        event: The decision asked for, people in it as tokens, as records hold them; not one that
            settles (see `settling`).
        record: What is known of the unit, None when nobody has reported it.
        received_at: The moment it was asked, at which it is judged.
        rules: The house's settings.
    """
    if record is None and event.kind not in MAY_COME_FIRST:
        return refuse_unknown(event)
    known = record or Record("")
    judgement = identify(event, known, rules)
    if judgement.is_refused:
        return judgement
    if isinstance(event, Sale):
        judgement.resolved[price.TERMS] = price.terms_of(rules, event.currency)
    if isinstance(event, WorkOrder):
        judgement.resolved["told_by"] = work.told_by(rules)
    reason = getattr(event, "override_reason", None)
    judgement.add(override(_reasons(event, known, received_at, rules), reason))
    judgement.add(price.too_fine(event, rules))
    judgement.add(days.amiss(event, received_at, rules))
    return judgement


def identify(event: Decision, record: Record, rules: Rulebook) -> Judgement:
    """Return what the names in a decision tell of the unit that is meant, refused if not this."""
    judgement = Judgement()
    judge_identity(judgement, event, record, rules)
    if MARK_DIFFERS.id in (finding.id for finding in judgement.findings):
        refused = KNOWN_OTHERWISE.finding("mark", seen=event.mark, expected=record.mark)
        return Judgement([refused])
    return judgement


def refuse_unknown(event: Decision) -> Judgement:
    """Return the refusal of a decision about a unit that nobody has reported."""
    if isinstance(event, PassingOn):
        unknown = order_rules.REFERENCE_UNKNOWN
        return Judgement([unknown.finding("reference", seen=event.reference)])
    return Judgement([UNKNOWN_UNIT.finding("mark", seen=event.mark or event.tag)])


def refuse_two_units(event: Decision) -> Judgement:
    """Return the refusal of a decision whose mark and tag mean two units."""
    return Judgement([TWO_UNITS.finding("mark", seen=event.mark, expected=event.tag)])


def _reasons(event: Decision, record: Record, now: datetime, rules: Rulebook) -> list[Finding]:
    match event:
        case Reservation() | Sale():
            return sale.hinders_promise(record, event.buyer, now)
        case Release():
            return _hinders_releasing(event, record, now, rules)
        case Clearance():
            then = leaving.as_it_left(record, event)
            return sale.hinders_leaving(then, now, rules, event.reference, event.haulier)
        case PassingOn():
            return passing.judge_passing(event, record, now)
        case Payment():
            return payment.judge_payment(event, record)
        case Cancellation() | HoldCleared() | TakeBack():
            return _nothing_to_undo(event, record)
        case ClaimClosed():
            return claims.judge_closing(event, record)
        case WorkOrder():
            return work.judge_order(event, record, now, rules)
        case _:
            return []


def _hinders_releasing(
    event: Release, record: Record, now: datetime, rules: Rulebook
) -> list[Finding]:
    found = sale.hinders_release(record, now, rules, authority=event.marks_authority)
    if record.release is not None:
        found.append(sale.ALREADY_RELEASED.finding("reference", seen=record.release.reference))
    return found


def _nothing_to_undo(event: Cancellation | HoldCleared | TakeBack, record: Record) -> list[Finding]:
    match event:
        case Cancellation():
            return _nothing_to_cancel(record, str(event.cancels))
        case HoldCleared():
            return _no_such_hold(record, str(event.clears))
        case TakeBack():
            return [] if record.sale is not None else [NOT_SOLD.finding("mark")]


def _nothing_to_cancel(record: Record, target: str) -> list[Finding]:
    live = {one.id for one in (record.reservation, record.sale, record.release) if one is not None}
    live.update(order.id for order in record.orders)
    if record.sale is not None and record.sale.paid_by is not None:
        live.add(record.sale.paid_by)
    return [] if target in live else [NOTHING_LIVE.finding("cancels", seen=target)]


def _no_such_hold(record: Record, target: str) -> list[Finding]:
    standing = {hold.id for hold in record.holds}
    return [] if target in standing else [NO_SUCH_HOLD.finding("clears", seen=target)]
