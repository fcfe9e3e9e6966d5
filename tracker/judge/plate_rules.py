"""The rules of the family `plate`: what can be wrong with a safety approval plate as read."""

from __future__ import annotations

from schemas.findings import Severity
from shared.table_files import Certainty
from tracker.judge.mass_rules import PAIR_MEANS, PAIR_SENTENCE, PAIR_SOURCE
from tracker.judge.rules import Rule

MADE_IN_FUTURE = Rule(
    "plate.made-in-future",
    Severity.DOUBT,
    "The plate says manufactured in {seen}, which is after {expected}, when it was read.",
    "Hardstand design: nothing is read before it is made",
    Certainty.DESIGN,
    "The month of manufacture lies after the month of the reading; it is not adopted.",
)
EXAMINATION_BEFORE_MANUFACTURE = Rule(
    "plate.examination-before-manufacture",
    Severity.DOUBT,
    "The next examination is marked {seen}, but the box was manufactured in {expected}.",
    "CSC Annex I reg. 2",
    Certainty.READ,
    "The examination would be due by the month of manufacture; neither month is adopted.",
)
FIRST_EXAMINATION_TOO_LATE = Rule(
    "plate.first-examination-too-late",
    Severity.WARN,
    "The first examination is marked {seen}; a box manufactured in {made} must have it by "
    "{expected}, 60 months on.",
    "CSC Annex I reg. 2; CTU Code 8.2.1.3; 49 CFR 452.1(a)",
    Certainty.READ,
    "More than 60 months from manufacture, on a box too young for a later examination to explain "
    "it.",
)
NEXT_EXAMINATION_TOO_LATE = Rule(
    "plate.next-examination-too-late",
    Severity.WARN,
    "The next examination is marked {seen}; read in {read_in}, the plate can show {expected} at "
    "the latest.",
    "CSC Annex I reg. 2; CTU Code 8.2.1.3; 49 CFR 452.1(a)",
    Certainty.READ,
    "Further ahead than any examination done by then allows: 30 months, or 60 from manufacture.",
)
EXAMINATION_PASSED = Rule(
    "plate.examination-passed",
    Severity.WARN,
    "The examination was due before {seen}; on {expected} it has lapsed.",
    "CTU Code annex 4 1.2.3",
    Certainty.READ,
    "The marked month is over, and with it the box's use under the Convention until examined.",
)
EXAMINATION_THIS_MONTH = Rule(
    "plate.examination-this-month",
    Severity.WARN,
    "The examination was due before {seen}, and {expected} lies in that month: by the text it has "
    "lapsed, though many take the month as valid to its last day.",
    "49 CFR 452.1(b)",
    Certainty.ONE_TEXT,
    "Only under the strict reading of the month.",
)
NO_DATE_OR_PROGRAMME = Rule(
    "plate.no-date-or-programme",
    Severity.WARN,
    "The plate as read has neither a next examination nor the mark of an examination programme.",
    "CTU Code annex 4 1.2.3",
    Certainty.READ,
    "Without either the box is not to be used in international transport. Look beside the plate: "
    "the date may be a decal.",
)
PROGRAMME_SHAPE = Rule(
    "plate.programme-shape",
    Severity.WARN,
    "The programme is marked {seen!r}; {expected}.",
    "CTU Code annex 4 1.2.2",
    Certainty.READ,
    "The mark of an approved continuous examination programme has not its usual shape.",
)
STACKING_BELOW_CSC = Rule(
    "plate.stacking-below-csc",
    Severity.WARN,
    "The allowable stacking load is {seen}, less than {expected}: limited stacking capacity.",
    "CSC Annex I reg. 1(3) after MSC.355(92)",
    Certainty.READ,
    "Such a box is marked as limited, and not everything may stand on it.",
)
STACKING_BELOW_ISO1496 = Rule(
    "plate.stacking-below-iso1496",
    Severity.NOTE,
    "The allowable stacking load is {seen}: unrestricted under the Convention, less than the "
    "{expected} of ISO 1496-1 since 2005.",
    "ISO 6346:2022 and ISO 1496-1:1990 as amended 2005",
    Certainty.ONE_TEXT,
    "Full strength for the Convention, not for the newest edition of ISO 6346. Reported, not "
    "failed.",
)
RACKING_BELOW_CSC = Rule(
    "plate.racking-below-csc",
    Severity.WARN,
    "The racking strength is {seen}, less than {expected}: limited racking capacity.",
    "CSC Annex I reg. 1(3) after MSC.355(92)",
    Certainty.READ,
    "Such a box is marked as limited. On plates in kg the limit is 15 240 kg.",
)
REDUCED_STRENGTH_NOT_IN_SIZE_TYPE = Rule(
    "plate.reduced-strength-not-in-size-type",
    Severity.WARN,
    "The plate shows limited strength, but the size-type {seen} does not end in a letter that "
    "says so.",
    "CSC Annex I reg. 1(3) after MSC.355(92); ISO 6346:1995 Amd 3:2012",
    Certainty.ONE_TEXT,
    "Limited stacking or racking must be told by the last character of the size-type.",
)
SIZE_TYPE_REDUCED_PLATE_FULL = Rule(
    "plate.size-type-reduced-plate-full",
    Severity.NOTE,
    "The size-type {seen} tells reduced strength, but the plate shows full stacking and racking.",
    "ISO 6346:1995 Amd 3:2012",
    Certainty.ONE_TEXT,
    "The size-type ends in a letter of reduced strength that the plate does not bear out.",
)
PAIR_GROSS = Rule(
    "plate.pair-gross", Severity.DOUBT, PAIR_SENTENCE, PAIR_SOURCE, Certainty.DERIVED, PAIR_MEANS
)
PAIR_STACKING = Rule(
    "plate.pair-stacking",
    Severity.DOUBT,
    PAIR_SENTENCE,
    PAIR_SOURCE,
    Certainty.DERIVED,
    PAIR_MEANS,
)
PAIR_RACKING = Rule(
    "plate.pair-racking",
    Severity.DOUBT,
    "The racking force reads {seen}, but the test load of {load} is {expected}: further apart than "
    "rounding explains.",
    "15 240 kg x 9.80665 m/s2 = 149.5 kN, printed 150 kN; within 1 %",
    Certainty.DERIVED,
    "Force and test load of one racking strength disagree; neither is adopted.",
)
LINES_WITHOUT_PLATE = Rule(
    "plate.lines-without-plate",
    Severity.DOUBT,
    "The report says that there is no plate, and yet reads from it: {seen}.",
    "Hardstand design: a plate is there or it is not",
    Certainty.DESIGN,
    "One of the two is wrong; nothing of the reading is adopted.",
)
NOT_FITTED = Rule(
    "plate.not-fitted",
    Severity.WARN,
    "There is no safety plate on the box: it is not to be used in international transport.",
    "CSC Annex I reg. 1; SI 2017/325 reg. 6",
    Certainty.ONE_TEXT,
    "Somebody looked and found none. For static storage that is as it should be.",
)
OUT_OF_SCOPE = Rule(
    "plate.out-of-scope",
    Severity.NOTE,
    "A base of {seen} is less than {expected}: the Convention does not take this for a container.",
    "CSC art. II",
    Certainty.READ,
    "Too small for the Convention even with top corner fittings; a plate is not called for.",
)
RULES = (
    MADE_IN_FUTURE,
    EXAMINATION_BEFORE_MANUFACTURE,
    FIRST_EXAMINATION_TOO_LATE,
    NEXT_EXAMINATION_TOO_LATE,
    EXAMINATION_PASSED,
    EXAMINATION_THIS_MONTH,
    NO_DATE_OR_PROGRAMME,
    PROGRAMME_SHAPE,
    STACKING_BELOW_CSC,
    STACKING_BELOW_ISO1496,
    RACKING_BELOW_CSC,
    REDUCED_STRENGTH_NOT_IN_SIZE_TYPE,
    SIZE_TYPE_REDUCED_PLATE_FULL,
    PAIR_GROSS,
    PAIR_STACKING,
    PAIR_RACKING,
    LINES_WITHOUT_PLATE,
    NOT_FITTED,
    OUT_OF_SCOPE,
)
