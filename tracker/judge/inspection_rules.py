"""The rules of the family `inspection`: what an inspection left undone, or differs in."""

from __future__ import annotations

from typing import Final

from schemas.findings import Severity
from shared import cautions
from shared.table_files import Certainty
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, inspection"

LIGHT_TEST_ALONE: Final = Rule(
    id="inspection.light-test-alone",
    severity=Severity.WARN,
    sentence="A light test is told without a second person at the doors. " + cautions.ENTERING,
    source="Hardstand design, gas and residues: light test never alone",
    certainty=Certainty.DESIGN,
    means="Whoever is shut in alone cannot open the doors. The test shows nothing for the "
    "condition either.",
)
DAYLIGHT_UNTOLD: Final = Rule(
    id="inspection.daylight-without-damage",
    severity=Severity.WARN,
    sentence="Daylight was seen, but no damage is told that lets it in. Say where it is.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A light test that found holes nobody described; they would not be mended.",
)
PLATE_NOT_READ: Final = Rule(
    id="inspection.plate-not-read",
    severity=Severity.WARN,
    sentence="The safety plate was not read, now or before. Read it line by line while the unit is "
    "here; where there is none, say so and who looked.",
    source="Hardstand design, plate",
    certainty=Certainty.DESIGN,
    means="An inspection of a unit whose plate nobody has read, and of which nobody has said that "
    "it bears none.",
)
PLATE_WITHOUT_PHOTO: Final = Rule(
    id="inspection.plate-without-photo",
    severity=Severity.WARN,
    sentence="The safety plate was read, but not photographed. Take the photo before it leaves.",
    source="Hardstand design, plate",
    certainty=Certainty.DESIGN,
    means="A reading without its photo cannot be looked at again, and no plate pack is complete "
    "without one.",
)
CONDITION_DIFFERS: Final = Rule(
    id="inspection.condition-differs-from-proposal",
    severity=Severity.NOTE,
    sentence="The inspector decided {seen}; what was found speaks for {expected}: {words}",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="The inspector decides; the reasons of the proposal are kept beside it.",
)
EXPECTATION_UNUSUAL: Final = Rule(
    id="inspection.expectation-unusual",
    severity=Severity.NOTE,
    sentence="{item}: {seen} is not what is usually seen. {expected}",
    source="common practice, no source",
    certainty=Certainty.PRACTICE,
    means="A count or measure that is neither usual nor a known variant: a reason to look again.",
)
ITEM_UNKNOWN: Final = Rule(
    id="inspection.item-unknown",
    severity=Severity.WARN,
    sentence="The checklist has no item {seen}. What was said of it is kept.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="An answer to an item that is not, or no longer, in the checklist.",
)
NO_DAMAGE_TOLD: Final = Rule(
    id="inspection.damaged-without-damage",
    severity=Severity.WARN,
    sentence="Found damaged or missing, but no damage is told: {seen}. Say what is wrong.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Items were answered as damaged or missing in a report without any damage; nothing would "
    "be mended.",
)
MARKS_NOT_IN_PLACE: Final = Rule(
    id="inspection.marks-not-in-place",
    severity=Severity.WARN,
    sentence="Its marks are not where they belong. Have them painted, or say which are missing.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="The inspector found marks missing or in the wrong place.",
)

RULES: Final = (
    LIGHT_TEST_ALONE,
    DAYLIGHT_UNTOLD,
    PLATE_NOT_READ,
    PLATE_WITHOUT_PHOTO,
    CONDITION_DIFFERS,
    EXPECTATION_UNUSUAL,
    ITEM_UNKNOWN,
    NO_DAMAGE_TOLD,
    MARKS_NOT_IN_PLACE,
)
