"""Claims for damage that was on the lorry: notice in time, and their end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Final

from schemas.events.claim import ClaimClosed, ClaimNotice
from schemas.events.gate import GateIn
from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.table_files import Certainty
from tracker.judge import damage_rules, mend_dates
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, claims"

UNKNOWN: Final = Rule(
    id="claim.unknown",
    severity=Severity.WARN,
    sentence="No claim {seen} stands open on this unit. The notice is kept, and settles nothing.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A notice names a claim that is not, or no longer, open.",
)
NOTICE_LATE: Final = Rule(
    id="claim.notice-late",
    severity=Severity.WARN,
    sentence="Notice of {words} was given on {seen}; it was to be given by {expected}.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Whether a late notice still holds follows from the contract of carriage.",
)
NOTICE_NOT_COME: Final = Rule(
    id="claim.notice-not-come-yet",
    severity=Severity.DOUBT,
    sentence="Notice is said to have been given on {seen}, but today is {expected}. On which day "
    "was it given?",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A notice names a day that has not come. The day it was reported counts, until a "
    "correction gives the right one.",
)
NO_SUCH_CLAIM: Final = Rule(
    id="decision.no-such-claim",
    severity=Severity.REFUSE,
    sentence="No claim {seen} stands open on this unit.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A claim is closed by its id, while it stands.",
)
CLOSED_UNNOTIFIED: Final = Rule(
    id="claim.closed-without-notice",
    severity=Severity.WARN,
    sentence="It is closed as {seen}, and no notice of it was recorded.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A claim that a firm paid or refused must have reached it; record the notice, too.",
)
RULES: Final = (UNKNOWN, NOTICE_LATE, NOTICE_NOT_COME, NO_SUCH_CLAIM, CLOSED_UNNOTIFIED)


def judge_arrival(
    judgement: Judgement, event: GateIn, received_at: datetime, rules: Rulebook
) -> None:
    """Set the last day to give notice of damage that the gate saw on the lorry.

    Resolves `notice_by`, as an inspection does; warns of what the claim does not name.
    """
    if event.damage_on_lorry is None:
        return
    found_on = rules.day_of(min(event.happened_at, received_at), event.depot)
    day = mend_dates.notice_after(found_on)
    judgement.resolved["notice_by"] = [day.isoformat()]
    lacking = [] if event.haulier else ["names no firm that answers for it"]
    lacking.append(f"names no last day to give notice: {day} was set")
    judgement.add(
        [damage_rules.CLAIM_INCOMPLETE.finding("damage_on_lorry", words=" and ".join(lacking))]
    )


def judge_notice(
    judgement: Judgement,
    event: ClaimNotice,
    record: Record,
    received_at: datetime,
    rules: Rulebook,
) -> None:
    """Add what a notice gives rise to; resolves `given_on`, the day that counts."""
    happened_on = rules.day_of(min(event.happened_at, received_at), event.depot)
    given_on, today = event.given_on or happened_on, rules.day_of(received_at, event.depot)
    if given_on > today:
        not_come = NOTICE_NOT_COME.finding("given_on", seen=str(given_on), expected=str(today))
        judgement.add([not_come], ["given_on"])
        given_on = happened_on
    judgement.resolved["given_on"] = given_on.isoformat()
    judgement.add(_amiss(event, record, given_on))


def _amiss(event: ClaimNotice, record: Record, given_on: date) -> Iterator[Finding]:
    known = {claim.id for claim in record.claims}
    if unknown := [name for name in event.claims if name not in known] or (
        [] if record.claims else ["at all"]
    ):
        yield UNKNOWN.finding("claims", seen=", ".join(unknown))
    for claim in record.claims:
        if event.claims and claim.id not in event.claims:
            continue
        late = claim.notice_by is not None and given_on > date.fromisoformat(claim.notice_by)
        if late and claim.notice_given_on is None:
            yield NOTICE_LATE.finding(
                "given_on", seen=str(given_on), expected=claim.notice_by, words=claim.says
            )


def judge_closing(event: ClaimClosed, record: Record) -> list[Finding]:
    """Return what stands against closing a claim, and what should be said of it."""
    claim = next((one for one in record.claims if one.id == event.closes), None)
    if claim is None:
        return [NO_SUCH_CLAIM.finding("closes", seen=event.closes)]
    if claim.notice_given_on is None and event.outcome != "withdrawn":
        return [CLOSED_UNNOTIFIED.finding("closes", seen=event.outcome.value)]
    return []
