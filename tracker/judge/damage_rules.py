"""The rules of the family `damage`: what a reported damage means, and what it leaves unsaid."""

from __future__ import annotations

from typing import Final

from schemas.findings import Severity
from shared import cautions
from shared.table_files import Certainty
from tracker.judge import mend_dates
from tracker.judge.rules import Rule

_TABLE: Final = "CSC Annex III 4.1, CSC.1/Circ.138/Rev.1, control table"

SERIOUS: Final = Rule(
    id="damage.serious-deficiency",
    severity=Severity.WARN,
    sentence="A serious deficiency by the control table: {measure} on the {part}, {seen}, where "
    "the limit is {expected}. Out of service at once. " + cautions.DAMAGED,
    source=_TABLE,
    certainty=Certainty.MEMORY,
    means="A structurally sensitive component is beyond the limit for serious deficiencies. The "
    "finding's own source says how sure that limit is; some are known from memory only. Where the "
    "inspector named no measure, the gravest that fits the damage is taken.",
)
RESTRICTED: Final = Rule(
    id="damage.restricted",
    severity=Severity.WARN,
    sentence="By the control table the owner is to be told of {measure} on the {part}, {seen}, "
    "where the limit is {expected}: {restriction}. " + cautions.DAMAGED,
    source=_TABLE,
    certainty=Certainty.MEMORY,
    means="A component is beyond the limit from which lifting or stowing is restricted. The "
    "finding's own source says how sure limit and restriction are.",
)
UNMEASURED: Final = Rule(
    id="damage.not-measured",
    severity=Severity.WARN,
    sentence="The {part} has limits in the control table for {measures}, but nothing was measured. "
    "Measure it in millimetres.",
    source="Hardstand design, inspection",
    certainty=Certainty.DESIGN,
    means="Damage to a component with limits, without the measurement that would be weighed.",
)
WRONG_MEASURE: Final = Rule(
    id="damage.measure-does-not-fit",
    severity=Severity.WARN,
    sentence="The control table knows no {seen} on {part}. Choose what was measured.",
    source="Hardstand design, inspection",
    certainty=Certainty.DESIGN,
    means="The measure named does not belong to the component; nothing was weighed.",
)
PLACE_UNREADABLE: Final = Rule(
    id="damage.place-unreadable",
    severity=Severity.WARN,
    sentence="{words}. The damage is kept; say again where it is.",
    source="a published practice note of 2019 on ISO 9897 locations",
    certainty=Certainty.ONE_TEXT,
    means="The place of a damage is none of the location grid. The damage stands with it as said.",
)
PLACE_BEYOND: Final = Rule(
    id="damage.place-beyond-length",
    severity=Severity.WARN,
    sentence="{seen} lies beyond the last section of a box of {expected}. Look again.",
    source="ISO 9897 location grid, sections of about 1.2 m",
    certainty=Certainty.MEMORY,
    means="The place of a damage names a section that a box of this length should not have.",
)
HOLD_PROPOSED: Final = Rule(
    id="damage.hold-proposed",
    severity=Severity.WARN,
    sentence="A hold is proposed, {seen}: {words}. " + cautions.DAMAGED,
    source="Hardstand design, inspection",
    certainty=Certainty.DESIGN,
    means="Damage that speaks for a hold. Nothing is held by this: a person puts the hold.",
)
SERIOUS_OPEN: Final = Rule(
    id="release.serious-damage",
    severity=Severity.WARN,
    sentence="Open damage on it is a serious deficiency by the control table: {seen}. Out of "
    "service at once. " + cautions.DAMAGED,
    source=_TABLE,
    certainty=Certainty.MEMORY,
    means="Damage beyond the limit for serious deficiencies stands open on a unit that is to "
    "leave. Some limits are known from memory only, so that it warns; a hold, or damage to be "
    "mended before release, refuses.",
)
CLAIM_INCOMPLETE: Final = Rule(
    id="damage.claim-incomplete",
    severity=Severity.WARN,
    sentence="Damage found on the lorry is a claim, and {words}.",
    source=f"{mend_dates.SOURCE}: {mend_dates.NOTICE_WITHIN_DAYS} days to give notice",
    certainty=Certainty.DESIGN,
    means="A claim that names no firm, or no last day to give notice: that day is then set by the "
    "house's rule, and the contract of carriage may allow fewer.",
)
CARGO_WORTHY: Final = Rule(
    id="damage.cargo-worthy-with-deficiency",
    severity=Severity.WARN,
    sentence="It was called {seen}, but {words}.",
    source=_TABLE,
    certainty=Certainty.MEMORY,
    means="The inspector's condition stands, though a component is at or beyond a limit of the "
    "control table: look again.",
)

RULES: Final = (
    SERIOUS,
    RESTRICTED,
    UNMEASURED,
    WRONG_MEASURE,
    PLACE_UNREADABLE,
    PLACE_BEYOND,
    HOLD_PROPOSED,
    SERIOUS_OPEN,
    CLAIM_INCOMPLETE,
    CARGO_WORTHY,
)
