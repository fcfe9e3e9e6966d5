"""What can be said about work on a unit, before and after it is done."""

from __future__ import annotations

from typing import Final

from schemas.findings import Severity
from shared import cautions
from shared.table_files import Certainty
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, work"


def _ours(rule_id: str, severity: Severity, sentence: str, means: str) -> Rule:
    return Rule(rule_id, severity, sentence, _SOURCE, Certainty.DESIGN, means)


NOT_IN_CATALOGUE: Final = _ours(
    "work.not-in-catalogue",
    Severity.NOTE,
    "The catalogue does not know this work: {seen}.",
    "Nothing can be compared with it; what cuts steel out asks the approving body all the same.",
)
MASS_DIFFERS: Final = _ours(
    "work.mass-differs-from-catalogue",
    Severity.NOTE,
    "{work}: {seen} is told for one piece, the catalogue says {expected}.",
    "What is told counts. Either the piece is another one, or the catalogue is to be mended.",
)
EFFECT_UNDERSTATED: Final = _ours(
    "work.approval-effect-understated",
    Severity.WARN,
    "It is said to leave the safety approval {said}, but {work} {does}. The stronger counts.",
    "The report says less than the catalogue, or less than cutting always does: ask the approving "
    "body. The stronger effect is adopted.",
)
CUTS_THE_SHELL: Final = _ours(
    "work.cuts-the-shell",
    Severity.WARN,
    "{words} " + cautions.CUTTING,
    "Work is ordered that takes steel out of the unit.",
)
WEIGH_AFTER_CUTTING: Final = _ours(
    "work.weigh-after-cutting",
    Severity.WARN,
    "The shell was cut for {seen}, and no weight after it is told. Weigh the unit and report its "
    "tare.",
    "The unit is to be weighed until a weighed tare is reported; a tare by sums does not do for a "
    "shell that was cut.",
)
ON_UNIT_TO_TRAVEL: Final = _ours(
    "work.on-unit-sold-for-export",
    Severity.WARN,
    "It is {stands} for {seen}, and {work} {does}. It cannot be released for that until this is "
    "settled.",
    "Work that touches the approval, on a unit sold or reserved for export or another transport.",
)
CERTIFICATE_MISSING: Final = _ours(
    "work.certificate-missing",
    Severity.WARN,
    "{work} needs a {expected}, and none is told.",
    "The catalogue says which certificate comes with the work.",
)
LOOSE_NOT_IN_TARE: Final = _ours(
    "work.loose-not-in-tare",
    Severity.NOTE,
    "Loose, so that the tare does not count it: {seen}.",
    "Loose pieces are load, whatever they weigh.",
)
TARE_RECOMPUTED: Final = Rule(
    "work.tare-recomputed",
    Severity.NOTE,
    "{words}",
    "CSC Annex I: P = R - tare; the tare includes permanently affixed ancillary equipment",
    Certainty.ONE_TEXT,
    "Shows the sum of tare and payload after work, and whether they are to be painted.",
)
TARE_UNKNOWN: Final = _ours(
    "work.tare-unknown",
    Severity.WARN,
    "Its tare before the work is not known, so the one after it cannot be reckoned: {words} was "
    "added. Weigh the unit and report its tare.",
    "Work changed the tare of a unit that nobody has read or weighed.",
)
NOTHING_LEFT_TO_LOAD: Final = Rule(
    "work.nothing-left-to-load",
    Severity.DOUBT,
    "A tare of {seen} leaves nothing to load of a gross mass of {expected}. Weigh the unit, or "
    "read its plate again.",
    "CSC Annex I: P = R - tare",
    Certainty.ONE_TEXT,
    "After the work the unit would weigh as much as it may weigh loaded, or more. The tare is not "
    "adopted until somebody settles it.",
)
FAR_FROM_SUM: Final = Rule(
    "work.weighed-far-from-sum",
    Severity.WARN,
    "It was weighed as {seen}, but by sums its tare is {expected}: further apart than scales and "
    "old paint explain. Weigh it once more before that is painted.",
    "Scales against sums: 10 % of the sum, and 100 kg at least",
    Certainty.PRACTICE,
    "The weighed tare is adopted, though it lies far from what was read and fitted: misread, "
    "something in the unit, or work that nobody reported.",
)
PAINTED_DIFFERS: Final = _ours(
    "work.painted-tare-differs",
    Severity.DOUBT,
    "A tare of {seen} is said to be painted now, but the unit's tare as it now is reads "
    "{expected}. Which is right?",
    "The doors were painted anew with another tare than the sum or the scales gave, or, where no "
    "work asked for the paint, further from the tare known than rounding explains. Not adopted, "
    "and a task to repaint stays, until somebody settles it.",
)
CONFIRMED_WHILE_VOID: Final = _ours(
    "work.void-is-not-confirmed",
    Severity.WARN,
    "Its approval is void since the shell was changed. That it stands cannot be confirmed: only a "
    "new approval lifts it.",
    "The approving body's answer is recorded, and the approval stays void.",
)
UNKNOWN_DAMAGE: Final = _ours(
    "repair.names-unknown-damage",
    Severity.WARN,
    "No open damage of this unit has this id: {seen}. Nothing is mended by it.",
    "The repair names a damage that was mended before, or is another unit's.",
)
TO_WEIGH: Final = Rule(
    "release.to-weigh",
    Severity.REFUSE,
    "Its shell was cut, and it was not weighed since. Weigh it and report its tare first.",
    "Hardstand design, masses",
    Certainty.DESIGN,
    "A tare that is only reckoned does not do for export and any transport once the shell was cut; "
    "for storage this is a warning.",
)

RULES: Final = (
    NOT_IN_CATALOGUE,
    MASS_DIFFERS,
    EFFECT_UNDERSTATED,
    CUTS_THE_SHELL,
    WEIGH_AFTER_CUTTING,
    ON_UNIT_TO_TRAVEL,
    CERTIFICATE_MISSING,
    LOOSE_NOT_IN_TARE,
    TARE_RECOMPUTED,
    TARE_UNKNOWN,
    NOTHING_LEFT_TO_LOAD,
    FAR_FROM_SUM,
    PAINTED_DIFFERS,
    CONFIRMED_WHILE_VOID,
    UNKNOWN_DAMAGE,
    TO_WEIGH,
)
