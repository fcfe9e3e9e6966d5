"""Did a unit leave as the barrier let it? What stands against a departure, seen from afterwards.

A unit leaves for a buyer after a clearance, on the release's own reference and with whom it names.
A clearance that was asked for before the departure and came in after it still answers it.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from typing import Final

from schemas.events.gate import Clearance, GateOut
from schemas.findings import Finding, Severity
from schemas.records import LeftUncleared, LiveRelease, Record
from shared import marks
from shared.moments import moment_said
from shared.table_files import Certainty
from tracker.judge import sale
from tracker.judge.entry import moment_text
from tracker.judge.presence import NEEDS_RELEASE
from tracker.judge.release_rules import COMMERCIAL
from tracker.judge.rules import Rule

AGAINST_ANSWER: Final = Rule(
    id="release.left-against-the-answer",
    severity=Severity.BREACH,
    sentence="It left {depot} for {purpose} and should not have: {words}.",
    source="Hardstand design, sale and release",
    certainty=Certainty.DESIGN,
    means="A gate-out for sale or hire of a released unit that the barrier had not cleared, or on "
    "another reference or with another haulier than it was cleared for. Recorded, and mailed to "
    "the manager at once. References are told by their last characters.",
)
RULES: Final = (AGAINST_ANSWER,)

ASKS_CLEARANCE: Final = "asks_clearance"
"""Under which name of `resolved` a departure says that it is held to its clearance.

One that was recorded before there was such a rule does not say so, and is no breach afterwards.
"""

_SHOWN: Final = 3


def asks_clearance(event: GateOut) -> bool:
    """Say whether a departure must have been cleared."""
    return event.purpose in NEEDS_RELEASE


def stands_against(release: LiveRelease, left: LeftUncleared) -> list[str]:
    """Return in words why the unit should not have left as it did; empty where all was well."""
    found = []
    if not release.cleared:
        found.append("nobody had cleared it at the barrier")
        if release.expires_at is not None and release.expires_at <= left.at:
            found.append(f"its release had expired at {moment_said(release.expires_at)}")
    if left.reference is not None:
        for finding in sale.hinders_reference(release, left.reference):
            if finding.id == sale.PASSED_ON.id:
                found.append(
                    f"its reference {_end(left.reference)} was passed on at {finding.seen}"
                )
            else:
                found.append(
                    f"it went on the reference {_end(left.reference)}, and its release is on "
                    f"{_end(release.reference)}"
                )
    if _went_with_another(release, left.haulier):
        given_to = release.cleared_for or release.haulier
        found.append(f"it was to go with {given_to}, and went with {left.haulier}")
    return found


def as_it_left(record: Record, event: Clearance) -> Record:
    """Return what a clearance is to be judged by: the record, or as it was when the unit left.

    The second for one that was asked for before the unit left uncleared, and comes in afterwards.
    """
    left = record.uncleared
    if left is None or record.presence != "away" or moment_text(event.happened_at) > left.at:
        return record
    then = copy(record)
    then.presence, then.depot, then.release = "in-depot", left.depot, left.release
    return then


def still_stands(release: LiveRelease, found: Sequence[Finding]) -> list[Finding]:
    """Return what keeps a unit that the barrier cleared from passing, of what would otherwise.

    That its count is used up is what clearing means, and that its last moment has come since then
    changes nothing. What a manager may let pass was let pass, or was not so when it was cleared;
    only who it goes with is asked again.
    """
    if not release.cleared:
        return list(found)
    answered = {sale.USED_UP.id, sale.EXPIRED.id, *COMMERCIAL} - {sale.WRONG_HAULIER.id}
    return [
        finding
        for finding in found
        if finding.severity is not Severity.REFUSE or finding.id not in answered
    ]


def _went_with_another(release: LiveRelease, haulier: str | None) -> bool:
    """Say whether neither the release nor the clearance names the haulier who took it."""
    if haulier is None or release.haulier is None:
        return False
    let = {one.casefold() for one in (release.haulier, release.cleared_for) if one is not None}
    return haulier.casefold() not in let


def _end(reference: str) -> str:
    """Return how a reference ends: enough to tell two apart, too little to collect with."""
    plain = marks.normalise(reference)
    return f"…{plain[-_SHOWN:]}" if len(plain) > 2 * _SHOWN else "…"
