"""Where a unit is, and what its comings and goings leave open.

These rules follow from the fold: a late report may answer them or bring them up.
"""

from __future__ import annotations

from typing import Final

from schemas.events.gate import GateIn
from schemas.findings import Severity
from schemas.records import Record
from shared.table_files import Certainty
from tracker.judge.entry import moment_text
from tracker.judge.rules import Rule

MISSED_DEPARTURE: Final = Rule(
    id="presence.missed-departure",
    severity=Severity.DOUBT,
    sentence="It came in at {depot}, but the record has it in {seen} since {since}. "
    "Did it leave unseen?",
    source="Hardstand design, presence",
    certainty=Certainty.DESIGN,
    means="A second gate-in without a gate-out between. Both stand; the question asks whether a "
    "departure was missed or the report is a mistake.",
)
MISSED_ARRIVAL: Final = Rule(
    id="presence.missed-arrival",
    severity=Severity.DOUBT,
    sentence="It left {depot}, but the record did not have it there ({seen}). "
    "Did it arrive unseen, or did it leave twice?",
    source="Hardstand design, presence",
    certainty=Certainty.DESIGN,
    means="A gate-out of a unit that was not in the depot. Recorded; the question asks what was "
    "missed.",
)
DELIVERED_WHILE_HERE: Final = Rule(
    id="presence.delivered-while-here",
    severity=Severity.DOUBT,
    sentence="Its delivery was reported as {seen}, but the record has it in {depot} since {since}. "
    "Did it leave unseen?",
    source="Hardstand design, presence",
    certainty=Certainty.DESIGN,
    means="A delivery of a unit that by the record has not left the depot. The record leaves it "
    "there and asks; a late gate-out answers.",
)
SEEN_NOT_IN: Final = Rule(
    id="presence.seen-but-not-in",
    severity=Severity.DOUBT,
    sentence="It was reported on the ground of {depot}, but the record has it {seen}. "
    "Did it arrive unseen?",
    source="Hardstand design, presence",
    certainty=Certainty.DESIGN,
    means="A sighting, restow, inspection or work on a unit that is not in the depot by the "
    "record. The record takes it as there and asks.",
)
AFTER_DISPOSAL: Final = Rule(
    id="presence.after-disposal",
    severity=Severity.DOUBT,
    sentence="It was reported on {at}, after it was disposed of. Which report is right?",
    source="Hardstand design, presence",
    certainty=Certainty.DESIGN,
    means="Something happened to a unit after its disposal.",
)
LEFT_UNRELEASED: Final = Rule(
    id="release.left-without-release",
    severity=Severity.BREACH,
    sentence="It left {depot} for {purpose} without a release.",
    source="Hardstand design, sale and release",
    certainty=Certainty.DESIGN,
    means="A gate-out for sale or hire while no release stood. Recorded, and mailed to the "
    "manager at once.",
)
LEFT_UNDER_HOLD: Final = Rule(
    id="hold.left-under-hold",
    severity=Severity.BREACH,
    sentence="It left {depot} although it was held: {seen}. Where a hold is for safety, a "
    "competent person must look at the unit where it is now.",
    source="Hardstand design, holds",
    certainty=Certainty.DESIGN,
    means="A gate-out while a hold stood. Recorded, and mailed to the manager at once.",
)
DISPOSED_WHEN_PROMISED: Final = Rule(
    id="sale.disposed-when-promised",
    severity=Severity.BREACH,
    sentence="It is {seen}, and it was {words}. Whoever it was promised to must be told.",
    source="Hardstand design, sale and release",
    certainty=Certainty.DESIGN,
    means="A disposal of a unit that was sold or reserved. Recorded, and mailed to the manager at "
    "once; the promise goes with the unit.",
)

MARK_UNSETTLED: Final = Rule(
    id="mark.unsettled",
    severity=Severity.DOUBT,
    sentence="{seen} cannot be its mark. Which unit is it?",
    source="Hardstand design, identity",
    certainty=Certainty.DESIGN,
    means="The report whose mark was asked about was withdrawn or given to another unit, and "
    "others with the same mark remain.",
)

RULES: Final = (
    MARK_UNSETTLED,
    MISSED_DEPARTURE,
    MISSED_ARRIVAL,
    DELIVERED_WHILE_HERE,
    SEEN_NOT_IN,
    AFTER_DISPOSAL,
    LEFT_UNRELEASED,
    LEFT_UNDER_HOLD,
    DISPOSED_WHEN_PROMISED,
)

NEEDS_RELEASE: Final = frozenset({"sale", "hire"})
"""The purposes for which a unit may leave only on a release."""


def has_left_its_tag(record: Record, arrival: GateIn) -> bool:
    """Say whether a tag that an arrival bears no longer means the unit that bore it there last.

    What is tied to a box ends with its stay: a box that comes in with a known tag after the other
    one left is another box. Until then, and for late reports, the tag means what it meant.
    """
    if record.presence == "in-depot" and record.depot == arrival.depot:
        return False
    ended = record.left_at or record.arrived_at
    return ended is not None and moment_text(arrival.happened_at) > ended
