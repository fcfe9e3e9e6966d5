"""Gas and residues: was the air seen to before somebody went in?

Whether a box was suspect depends on what the record holds at that moment, which a late arrival may
change; so the breach is raised by the fold, and only what the report itself tells is judged here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from schemas.events.condition import Found, Inspection
from schemas.events.hold import HoldKind
from schemas.findings import Finding, Severity
from schemas.records import Record
from shared import cautions, checklist
from shared.table_files import Certainty
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, gas and residues"

ENTERED_BEFORE_AIR: Final = Rule(
    id="inspection.entered-before-air",
    severity=Severity.BREACH,
    sentence="Somebody went in, and nobody is said to have aired it or found its air clear: "
    "{words}. " + cautions.ENTERING,
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A breach where a placard, a fumigation label, a last cargo or a test that was not clear "
    "is known; a warning where nothing is.",
)
NOT_CLEAR: Final = Rule(
    id="gas.not-clear",
    severity=Severity.WARN,
    sentence="The gas test was not clear. " + cautions.ENTERING,
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="The air inside is suspect until it is tested clear or aired.",
)
NO_RESULT: Final = Rule(
    id="gas.test-without-result",
    severity=Severity.WARN,
    sentence="The air was tested, but no result is told. It counts as not tested.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A test without its result clears nothing.",
)
NOBODY_TESTED: Final = Rule(
    id="gas.result-without-tester",
    severity=Severity.WARN,
    sentence="A result of a gas test is told, but not who tested. Clear, it counts as not tested.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A test that nobody answers for clears nothing.",
)
HOLD_PROPOSED: Final = Rule(
    id="gas.hold-proposed",
    severity=Severity.WARN,
    sentence="A hold is proposed, {seen}: {words}. " + cautions.ENTERING,
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="The air inside is suspect, and nobody has aired it or found it clear. Nothing is held "
    "by this: a person puts the hold.",
)
LABELS_BEFORE_AIR: Final = Rule(
    id="gas.labels-off-before-air",
    severity=Severity.WARN,
    sentence="The labels are off, and nobody is said to have aired it or found its air clear: "
    "{words}. Nothing on it warns of that any more. " + cautions.ENTERING,
    source="common practice, no source",
    certainty=Certainty.PRACTICE,
    means="Labels were taken off a box whose air is suspect. They should stay until it is aired or "
    "tested; whoever comes next sees nothing.",
)

RULES: Final = (
    *(ENTERED_BEFORE_AIR, NOT_CLEAR, NO_RESULT, NOBODY_TESTED, HOLD_PROPOSED),
    LABELS_BEFORE_AIR,
)

_NOT_INSIDE: Final = (Found.NOT_LOOKED_AT, Found.NOT_THERE)


def was_entered(event: Inspection) -> bool:
    """Say whether the report tells that somebody was inside, outright or by what was looked at."""
    if (event.gas is not None and event.gas.entered) or event.light_test is not None:
        return True
    if not event.answers:
        return False
    answers = map(event.answers.get, checklist.inside_ids())
    return any(answer is not None and answer.found not in _NOT_INSIDE for answer in answers)


def was_aired(event: Inspection) -> bool:
    """Say whether the report tells who aired the box, or who found its air clear."""
    gas = event.gas
    if gas is None or gas.result == "not-clear":
        return False
    return bool(gas.ventilated_by or (gas.tested_by and gas.result == "clear"))


def suspicion(record: Record) -> str:
    """Return what speaks against the air inside, in words; empty when nothing is known."""
    said = (
        f"it bore {record.placards}" if record.placards else "",
        f"its last cargo was {record.last_cargo}" if record.last_cargo else "",
    )
    return " and ".join(filter(None, said)) or ("its air is suspect" * (record.air == "suspect"))


def judge_gas(event: Inspection, record: Record, *, unaired: bool) -> Iterator[Finding]:
    """Give what the report tells about the air; `unaired`: somebody went in before it was aired."""
    gas = event.gas
    not_clear = gas is not None and gas.result == "not-clear"
    unknown = record.air == "unknown" and not (gas is not None and gas.last_cargo)
    if unaired and unknown and not not_clear:
        yield ENTERED_BEFORE_AIR.finding(
            "gas", words="nothing is known of its air", severity=Severity.WARN
        )
    if gas is not None:
        if not_clear:
            yield NOT_CLEAR.finding("gas.result", seen=gas.result, expected="clear")
        if gas.tested_by and gas.result is None:
            yield NO_RESULT.finding("gas.result")
        if gas.result and not gas.tested_by:
            yield NOBODY_TESTED.finding("gas.tested_by", seen=gas.result)
    if not_clear or (record.air == "suspect" and not was_aired(event)):
        yield from _propose_hold(record, not_clear=not_clear)
        if gas is not None and gas.labels_off:
            yield from judge_labels(record, not_clear=not_clear)


def judge_labels(record: Record, *, not_clear: bool = False) -> Iterator[Finding]:
    """Give what is to be said when labels come off a box that nobody has aired or found clear."""
    if record.air == "suspect" or not_clear:
        yield LABELS_BEFORE_AIR.finding("mark", words=_why_suspect(record, not_clear=not_clear))


def _propose_hold(record: Record, *, not_clear: bool) -> Iterator[Finding]:
    if any(hold.hold == HoldKind.DO_NOT_ENTER for hold in record.holds):
        return
    words = _why_suspect(record, not_clear=not_clear)
    yield HOLD_PROPOSED.finding("gas", seen=HoldKind.DO_NOT_ENTER.value, words=words)


def _why_suspect(record: Record, *, not_clear: bool) -> str:
    return "the gas test was not clear" if not_clear else suspicion(record)
