"""Judge the correction of a decision: it smuggles in nothing that would have been refused.

What was said wrongly may be put right. What would undo a decision by the back door, or grant what
asking anew would not, is refused: there is another decision for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Final

import orjson

from schemas.events.base import Decision
from schemas.events.union import EVENT
from schemas.findings import Finding, Severity
from schemas.records import Record
from tracker.judge import sale, settling_rules
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import Entry
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook

_SAID_ONLY: Final = frozenset({"note", "photos", "reported_by", "happened_at"})
"""What a decision does not rest on: a decision counts from when it was asked."""

_ABOUT: Final = ("override_reason", "order", "count", "cancels", "clears", "closes", "pays")
_FIXED: Final = frozenset({*_ABOUT, "hold", "lines", "reference"})
"""What a decision is about. Cancel it, and decide anew."""

_MAY_CHANGE: Final = frozenset({("sale", "reference"), ("sale", "lines"), ("work-order", "lines")})

_UNDONE_BY: Final = {
    "hold": "it is lifted by a hold-cleared, which names the evidence",
    "clearance": "the barrier opened on it",
    "cancellation": "ask anew for what it cancelled",
    "passing-on": "pass the new reference on, or cancel the release",
    "take-back": "sell the unit anew",
}
_ON_ORDER: Final = "cancel it, so that its order waits for another unit"


def is_fixed(kind: str, name: str) -> bool:
    """Say whether a field of a decision is what it is about, so that no correction changes it."""
    return name in _FIXED and (kind, name) not in _MAY_CHANGE


def hinders_withdrawing(target: Entry) -> list[Finding]:
    """Return what stands against a decision being as if it had never been."""
    why = _ON_ORDER if "sale" in target.resolved else _UNDONE_BY.get(target.kind)
    if why is None:
        return []
    return [settling_rules.NOT_WITHDRAWN.finding("withdrawn", seen=target.kind, why=why)]


def hinders_changing(
    target: Entry,
    revised: Entry,
    history: list[Entry],
    received_at: datetime,
    rules: Rulebook,
) -> list[Finding]:
    """Return what stands against a decision having been another one.

    Args:
        target: The decision as it stands.
        revised: The decision as it is to stand.
        history: The whole history of its unit.
        received_at: When the correction was taken in, at which both are judged.
        rules: The house's settings.
    """
    names = {*target.payload, *revised.payload}
    changed = {one for one in names if target.payload.get(one) != revised.payload.get(one)}
    if changed <= _SAID_ONLY:
        return []
    fixed = {one for one in changed if is_fixed(target.kind, one)}
    if "sale" in target.resolved:
        fixed = changed - _SAID_ONLY
    if fixed:
        return [settling_rules.DECISION_FIXED.finding("changes", seen=", ".join(sorted(fixed)))]
    without = _fold_with(history, target, None)
    asked_anew, as_asked = (
        _refusals(judge_decision(_read(entry), without, received_at, rules).findings)
        for entry in (revised, target)
    )
    now, then = (
        _refusals(_against_release(_fold_with(history, target, entry), received_at, rules))
        for entry in (revised, target)
    )
    hindered = _new(asked_anew, as_asked)
    return hindered + _new(_new(now, then), hindered)


def _against_release(record: Record, now: datetime, rules: Rulebook) -> list[Finding]:
    """Return what stands against a release that was given already: it must not rest on this."""
    if record.release is None and record.presence != "away":
        return []
    authority = record.release.marks_authority if record.release is not None else None
    return sale.hinders_release(record, now, rules, authority=authority)


def _fold_with(history: list[Entry], target: Entry, instead: Entry | None) -> Record:
    override = instead.as_override() if instead is not None else None
    resolved = {"overrides": {target.event_id: override}}
    return fold("", [*history, Entry("", "correction", "", {}, resolved=resolved)])


def _read(entry: Entry) -> Decision:
    event = EVENT.validate_json(orjson.dumps(entry.payload))
    if not isinstance(event, Decision):
        raise TypeError(f"{event.kind} is no decision")
    return event


def _refusals(findings: Iterable[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.severity is Severity.REFUSE]


def _new(found: list[Finding], before: list[Finding]) -> list[Finding]:
    known = {(one.id, str(one.seen)) for one in before}
    return [one for one in found if (one.id, str(one.seen)) not in known]
