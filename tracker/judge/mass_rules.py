"""The rules of the family `mass`: what can be wrong with the masses painted on the doors.

`mass.gross-differs-from-plate` is the one rule for a gross mass that doors and plate tell
differently, whichever of them was read last.
"""

from __future__ import annotations

from schemas.findings import Severity
from shared.table_files import Certainty
from tracker.judge.rules import Rule

PAIR_SENTENCE = (
    "The {name} reads {kilograms} and {seen}, but {kilograms} is {expected}: further off than "
    "rounding explains."
)
PAIR_SOURCE = "Rounding of the pairs that ISO 668 and plates print: 25 lb or 0.1 %"
PAIR_MEANS = (
    "Kilograms and pounds of one mass lie further apart than rounding explains; neither is adopted."
)

SUM = Rule(
    "mass.sum",
    Severity.DOUBT,
    "Gross {gross} less tare {tare} leaves {expected}, but the payload reads {seen}: a difference "
    "of {difference}.",
    "CSC Annex I: P = R - tare",
    Certainty.ONE_TEXT,
    "Gross is not tare plus payload to the kilogram. Masses that nothing else confirms are not "
    "adopted; the payload never is.",
)
PAIR_GROSS = Rule(
    "mass.pair-gross",
    Severity.DOUBT,
    PAIR_SENTENCE,
    PAIR_SOURCE,
    Certainty.DERIVED,
    PAIR_MEANS,
)
PAIR_TARE = Rule(
    "mass.pair-tare",
    Severity.DOUBT,
    PAIR_SENTENCE,
    PAIR_SOURCE,
    Certainty.DERIVED,
    PAIR_MEANS,
)
PAIR_PAYLOAD = Rule(
    "mass.pair-payload",
    Severity.DOUBT,
    PAIR_SENTENCE,
    PAIR_SOURCE,
    Certainty.DERIVED,
    PAIR_MEANS,
)
GROSS_DIFFERS_FROM_PLATE = Rule(
    "mass.gross-differs-from-plate",
    Severity.DOUBT,
    "The gross mass on the {here} reads {seen}, on the {there} it is {expected}; every marking of "
    "it must be the plate's.",
    "CSC Annex I reg. 1(1)(b)",
    Certainty.READ,
    "Doors and safety plate tell different gross masses; the one just read is not adopted, and "
    "when both were just read the plate's is.",
)
TARE_ABOVE_GROSS = Rule(
    "mass.tare-above-gross",
    Severity.DOUBT,
    "The tare reads {seen}, more than the gross mass of {expected}.",
    "CSC Annex I: P = R - tare",
    Certainty.ONE_TEXT,
    "A box cannot weigh more than it may weigh loaded; neither mass is adopted.",
)
GROSS_OUTSIDE_ISO668 = Rule(
    "mass.gross-outside-iso668",
    Severity.WARN,
    "A gross mass of {seen} lies outside what ISO 668 ever rated a {size_type} at: {expected}. The "
    "plate is the authority.",
    "ISO 668 ratings, all editions",
    Certainty.MEMORY,
    "The gross mass is lower or higher than any edition of ISO 668 rates that length. Only a note "
    "when such plates are in use, as on 10 ft boxes.",
)
TARE_IMPLAUSIBLE = Rule(
    "mass.tare-implausible",
    Severity.WARN,
    "A tare of {seen} is unusual for a {size_type}; {expected} is usual.",
    "Typical dry boxes, with 15 % on either side",
    Certainty.PRACTICE,
    "The tare lies well outside that of typical dry boxes of the size: misread, heavily fitted "
    "out, or another size.",
)
CUBE_IMPLAUSIBLE = Rule(
    "mass.cube-implausible",
    Severity.WARN,
    "A cube of {seen} is unusual for a {size_type}; {expected} is usual.",
    "Typical dry boxes, with 10 % on either side",
    Certainty.PRACTICE,
    "The cube lies well outside that of typical dry boxes of the size: misread, or another size.",
)
CUBE_BELOW_INTERNAL_MINIMUM = Rule(
    "mass.cube-below-internal-minimum",
    Severity.WARN,
    "A cube of {seen} is less than a {size_type} has by its least inside dimensions: {expected}.",
    "ISO 668 Table 3, length x width x height; 45, 30 and 10 ft lengths from memory",
    Certainty.DERIVED,
    "The cube is plausible, but less than the minimum internal dimensions of ISO 668 make.",
)
RULES = (
    SUM,
    PAIR_GROSS,
    PAIR_TARE,
    PAIR_PAYLOAD,
    GROSS_DIFFERS_FROM_PLATE,
    TARE_ABOVE_GROSS,
    GROSS_OUTSIDE_ISO668,
    TARE_IMPLAUSIBLE,
    CUBE_IMPLAUSIBLE,
    CUBE_BELOW_INTERNAL_MINIMUM,
)
