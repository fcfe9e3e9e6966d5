"""May it be promised, sold, released, and may it leave? Every hindrance says why."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import Final

from schemas.findings import Finding, Severity
from schemas.records import LiveRelease, Record
from shared import marks
from shared.moments import moment_said
from shared.table_files import Certainty
from tracker.judge import damage, sold_work, travel
from tracker.judge.judgement import Rulebook
from tracker.judge.release_rules import hinders_papers, pass_again
from tracker.judge.rules import Rule, designed_refusal
from tracker.judge.travel import hinders_use

_refusal: Final = partial(designed_refusal, "Hardstand design, sale and release")


MARK_IN_QUESTION: Final = _refusal(
    "sale.mark-in-question",
    "Nobody knows yet which unit this is: its mark {seen} is in question. Answer the question "
    "first.",
    "A unit whose mark cannot be right is never promised, sold or released.",
)
GONE: Final = _refusal(
    "sale.not-in-stock",
    "It cannot be sold: it is {seen}.",
    "A unit that left or was disposed of is not for sale.",
)
NOT_OURS: Final = _refusal(
    "sale.not-ours",
    "It is not ours to sell: it came in as {words}.",
    "A customer's own box, or one stored for others, can never be sold.",
)
ALREADY_SOLD: Final = _refusal(
    "sale.already-sold",
    "It is sold already, since {seen}.",
    "One live sale per unit. A second is refused until the first is cancelled.",
)
RESERVED: Final = _refusal(
    "sale.reserved-for-another",
    "It is reserved for another buyer until {seen}.",
    "One live reservation per unit; it lapses by itself.",
)
OPEN_QUESTIONS: Final = Rule(
    id="sale.open-questions",
    severity=Severity.WARN,
    sentence="Questions about it are open ({count}). Settle them, or tell the buyer: {asks}",
    source="Hardstand design, sale and release",
    certainty=Certainty.DESIGN,
    means="A promise about a unit with open questions; the buyer should be told.",
)
SOLD_TWICE: Final = Rule(
    id="sale.sold-twice",
    severity=Severity.DOUBT,
    sentence="It is sold twice: to another buyer since {seen}, too. Which sale stands?",
    source="Hardstand design, no two truths",
    certainty=Certainty.DESIGN,
    means="Two sales of one unit came to light, when two units turned out to be one or a "
    "cancellation was withdrawn. Cancel or withdraw the one that does not stand.",
)
SOLD_WHEN_GONE: Final = Rule(
    id="sale.sold-when-gone",
    severity=Severity.DOUBT,
    sentence="When it was sold it was {seen}, as a later report tells. Does the sale stand?",
    source="Hardstand design, sale and release",
    certainty=Certainty.DESIGN,
    means="The sale was granted before a late report told that the unit had left or was disposed "
    "of.",
)
NOT_SOLD: Final = _refusal(
    "release.not-sold",
    "It is not sold, so there is nobody to release it to.",
    "A release needs a live sale.",
)
ALREADY_RELEASED: Final = _refusal(
    "release.already-released",
    "It is released already, on collection reference {seen}.",
    "One live release per unit; cancel it to give another.",
)
UNPAID: Final = _refusal(
    "release.unpaid",
    "It is neither paid nor sold on credit.",
    "A commercial refusal: payment first.",
)
HELD: Final = _refusal(
    "release.held",
    "It is held: {seen}. A hold is lifted by evidence; where it is for safety, by a competent "
    "person.",
    "No release while a hold stands.",
)
WORK_OPEN: Final = _refusal(
    "release.work-unfinished",
    "Work on it is not finished: {seen}.",
    "Open work orders, or damage to be mended before release.",
)
NOT_IN_DEPOT: Final = _refusal(
    "release.not-in-depot",
    "It is not here: it is {seen}.",
    "Only a unit on the ground can be released or pass the barrier.",
)
NO_RELEASE: Final = _refusal(
    "clearance.no-release",
    "It is not released.",
    "The barrier opens on a live release only.",
)
WRONG_REFERENCE: Final = _refusal(
    "clearance.wrong-reference",
    "The collection reference does not belong to this unit.",
    "The reference given at the barrier is not the one on the release.",
)
EXPIRED: Final = _refusal(
    "clearance.expired",
    "The release expired at {seen}.",
    "A collection reference has a last moment.",
)
USED_UP: Final = _refusal(
    "clearance.used-up",
    "The collection reference was used already.",
    "Each count of a collection reference opens the barrier once.",
)
PASSED_ON: Final = _refusal(
    "clearance.passed-on",
    "This collection reference was passed on at {seen} and is good no more. The new one collects.",
    "Whoever was given a reference passed it on; a copy of the old paper collects nothing.",
)
WRONG_HAULIER: Final = _refusal(
    "clearance.wrong-haulier",
    "The reference was given to {expected}, not to {seen}.",
    "A collection reference names who may collect; a manager may let another.",
)

RULES: Final = (
    *travel.RULES,
    WRONG_HAULIER,
    MARK_IN_QUESTION,
    GONE,
    NOT_OURS,
    ALREADY_SOLD,
    RESERVED,
    OPEN_QUESTIONS,
    SOLD_TWICE,
    SOLD_WHEN_GONE,
    NOT_SOLD,
    ALREADY_RELEASED,
    UNPAID,
    HELD,
    WORK_OPEN,
    NOT_IN_DEPOT,
    NO_RELEASE,
    WRONG_REFERENCE,
    EXPIRED,
    USED_UP,
    PASSED_ON,
)

_NOT_OURS: Final = {
    "customer-box": "a customer's own box",
    "storage-for-others": "one stored for others",
}


def hinders_promise(record: Record, buyer: str | None, now: datetime) -> list[Finding]:
    """Return what stands against reserving or selling the unit to `buyer` at `now`."""
    found: list[Finding] = []
    if record.mark_state == "in-question":
        found.append(MARK_IN_QUESTION.finding("mark", seen=record.mark))
    if record.presence in ("away", "disposed"):
        found.append(GONE.finding("mark", seen=record.presence))
    if record.purpose in _NOT_OURS:
        found.append(NOT_OURS.finding("mark", seen=record.purpose, words=_NOT_OURS[record.purpose]))
    if record.sale is not None:
        found.append(ALREADY_SOLD.finding("buyer", seen=moment_said(record.sale.sold_at)))
    kept = record.reservation
    if kept is not None and kept.buyer != buyer and datetime.fromisoformat(kept.until) > now:
        found.append(RESERVED.finding("buyer", seen=moment_said(kept.until)))
    if record.questions:
        seen = sorted({question.finding for question in record.questions})
        asks = " ".join(dict.fromkeys(question.asks for question in record.questions))
        count = len(record.questions)
        found.append(OPEN_QUESTIONS.finding("mark", seen=seen, count=count, asks=asks))
    return found


def hinders_release(
    record: Record, now: datetime, rules: Rulebook, *, authority: str | None = None
) -> list[Finding]:
    """Return what stands against releasing the unit at `now`; for storage some only warn.

    `authority` allows it to travel under its previous owner's marks.
    """
    found: list[Finding] = []
    if record.mark_state == "in-question":
        found.append(MARK_IN_QUESTION.finding("mark", seen=record.mark))
    if record.presence != "in-depot":
        found.append(NOT_IN_DEPOT.finding("mark", seen=record.presence))
    if record.sale is None:
        found.append(NOT_SOLD.finding("mark"))
    elif not (record.sale.paid or record.sale.on_credit):
        found.append(UNPAID.finding("mark"))
    if record.holds:
        held = ", ".join(sorted(hold.hold for hold in record.holds))
        found.append(HELD.finding("mark", seen=held))
    if work := _unfinished(record):
        found.append(WORK_OPEN.finding("mark", seen=work))
    found += damage.hinders_release(record)
    found += sold_work.hinders_release(record, rules)
    use = record.sale.intended_use if record.sale is not None else None
    found += hinders_papers(record, use=use, authority=authority)
    return found + hinders_use(record, now, rules)


def hinders_leaving(
    record: Record,
    now: datetime,
    rules: Rulebook,
    reference: str | None = None,
    haulier: str | None = None,
) -> list[Finding]:
    """Return what stands against the unit passing the barrier at `now`.

    `reference` and `haulier` are what the driver named, where that was asked.
    """
    release = record.release
    if release is None:
        return [NO_RELEASE.finding("reference"), *hinders_release(record, now, rules)]
    found = hinders_release(record, now, rules, authority=release.marks_authority)
    found = pass_again(found, release.let_pass)
    if not _is_let_pass(release, haulier):
        found += hinders_haulier(release.haulier, haulier)
    if reference is not None:
        found += hinders_reference(release, reference)
    if release.cleared:
        found.append(USED_UP.finding("reference"))
    if release.expires_at and datetime.fromisoformat(release.expires_at) <= now:
        found.append(EXPIRED.finding("reference", seen=moment_said(release.expires_at)))
    return found


def hinders_reference(release: LiveRelease, reference: str) -> list[Finding]:
    """Return what stands against a reference being the one of a release, and why it is not."""
    if is_same_reference(reference, release.reference):
        return []
    for former, passed_on_at in release.former.items():
        if is_same_reference(reference, former):
            return [PASSED_ON.finding("reference", seen=moment_said(passed_on_at))]
    return [WRONG_REFERENCE.finding("reference")]


def hinders_haulier(given_to: str | None, seen: str | None) -> list[Finding]:
    """Return what stands against a haulier collecting what was released to another."""
    if given_to is None or seen is None or given_to.casefold() == seen.casefold():
        return []
    return [WRONG_HAULIER.finding("haulier", seen=seen, expected=given_to)]


def _is_let_pass(release: LiveRelease, haulier: str | None) -> bool:
    """Say whether the barrier has cleared the unit for this very haulier, whoever was named."""
    let = release.cleared_for if release.cleared else None
    return let is not None and haulier is not None and let.casefold() == haulier.casefold()


def is_same_reference(reference: str, other: str) -> bool:
    """Say whether two collection references are one, however a driver says it."""
    return marks.normalise(reference) == marks.normalise(other)


def _unfinished(record: Record) -> str:
    ordered = [work for order in record.orders for work in order.left()]
    urgent = [
        f"{one.kind} on {one.component}"
        for one in record.damages
        if one.urgency == "before-release"
    ]
    return ", ".join(ordered + urgent)
