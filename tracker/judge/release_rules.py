"""The rules of releasing: papers, customs and marks; and which refusals a manager may override."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final

from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.table_files import Certainty
from tracker.judge.entry import Entry
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, sale and release"

PACK_INCOMPLETE: Final = Rule(
    id="release.plate-pack-incomplete",
    severity=Severity.REFUSE,
    sentence="Its plate pack lacks {seen}. Photograph the plate and read it before it leaves: "
    "shipping lines ask afterwards.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="An export leaves only with its complete plate pack. Lifted by completing it; nobody's "
    "word does.",
)
CUSTOMS_UNKNOWN: Final = Rule(
    id="release.customs-unknown",
    severity=Severity.REFUSE,
    sentence="Its customs status is {seen}. Find the entry, and record it with the acquisition.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A paperwork refusal: a unit of unknown status, or one under temporary admission that "
    "is to stay in the country. Where nobody has said anything it only warns.",
)
MARKS_REMAIN: Final = Rule(
    id="release.previous-marks",
    severity=Severity.REFUSE,
    sentence="It still bears the marks of {seen}. For export name what allows that; for storage "
    "remove them.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Export under another owner's marks needs an authority (a paperwork refusal); for "
    "storage it warns until they are removed.",
)
LABELS_ON: Final = Rule(
    id="release.labels-on",
    severity=Severity.REFUSE,
    sentence="It still bears {seen}. Take it off, and say so with the inspection or as marking "
    "work: a label that no longer holds misleads whoever handles the unit next.",
    source="Hardstand design, gas and residues: labels off before release",
    certainty=Certainty.DESIGN,
    means="Placards or a fumigation label seen when it came in, and nobody said that they are off. "
    "A rule of the house: lifted by taking them off; nobody's word does. What the law asks here "
    "we have read in no text.",
)
OVERRIDDEN: Final = Rule(
    id="release.overridden",
    severity=Severity.WARN,
    sentence="A manager let pass: {seen}",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="A commercial refusal that a manager overrode with a reason; both are kept.",
)
RULES: Final = (PACK_INCOMPLETE, CUSTOMS_UNKNOWN, MARKS_REMAIN, LABELS_ON, OVERRIDDEN)

COMMERCIAL: Final = frozenset(
    {
        "sale.reserved-for-another",
        "order.unpaid",
        "release.unpaid",
        "release.customs-unknown",
        "release.previous-marks",
        "release.sold-work-missing",
        "clearance.wrong-haulier",
    }
)
"""Refusals about payment, paperwork and others' claims. All else is lifted by evidence only."""


def override(findings: Iterable[Finding], reason: str | None) -> list[Finding]:
    """Let commercial refusals pass for a reason; return the findings as they then stand."""
    told = list(findings)
    if reason is None:
        return told
    return [
        OVERRIDDEN.finding(finding.field, seen=finding.message)
        if finding.severity is Severity.REFUSE and finding.id in COMMERCIAL
        else finding
        for finding in told
    ]


def let_pass_by(entry: Entry) -> list[str]:
    """Return the refusals that a manager let pass when a release was granted, in words."""
    return [str(one["seen"]) for one in entry.findings if one["id"] == OVERRIDDEN.id]


def pass_again(findings: Iterable[Finding], let_pass: Collection[str]) -> list[Finding]:
    """Let refusals pass at the barrier that a manager let pass with the release.

    Word for word: where something else stands against it by now, it is refused.
    """
    return [
        OVERRIDDEN.finding(finding.field, seen=finding.message)
        if finding.severity is Severity.REFUSE and finding.message in let_pass
        else finding
        for finding in findings
    ]


def lacks_of_pack(record: Record) -> list[str]:
    """Return what the plate pack lacks, in words; empty when it is complete."""
    plate = record.plate or {}
    wanted = {
        "the plate's photo": plate.get("photo"),
        "the approval reference": plate.get("approval_reference"),
        "the month of manufacture": record.manufactured_in,
        "the manufacturer's number": plate.get("manufacturer_number"),
        "the plate's gross mass": plate.get("gross_kg"),
        "the stacking load": plate.get("stacking_kg"),
        "the racking force": plate.get("racking_n") or plate.get("racking_kg"),
        "the next examination or programme": record.next_examination,
        "the size-type": record.size_type,
        "the tare": record.tare_kg,
        "the payload": record.payload_kg,
    }
    return [name for name, value in wanted.items() if not value]


def hinders_papers(record: Record, *, use: str | None, authority: str | None) -> list[Finding]:
    """Return what papers, marks and labels have against releasing the unit for a use."""
    found = []
    if record.placards is not None:
        found.append(LABELS_ON.finding("mark", seen=record.placards))
    travels = use in ("export", "transport")
    if use == "export" and (lacks := lacks_of_pack(record)):
        found.append(PACK_INCOMPLETE.finding("mark", seen=", ".join(lacks)))
    found += _hinders_customs(record, use)
    if record.previous_owner is not None and authority is None:
        weight = Severity.REFUSE if travels else Severity.WARN
        found.append(
            MARKS_REMAIN.finding("marks_authority", seen=record.previous_owner, severity=weight)
        )
    return found


def _hinders_customs(record: Record, use: str | None) -> list[Finding]:
    if record.customs == "free-circulation":
        return []
    stays = use == "storage"
    if record.customs == "temporary-admission" and not stays:
        return []
    if record.customs is None:
        if use != "export":
            return []
        return [CUSTOMS_UNKNOWN.finding("mark", seen="not recorded", severity=Severity.WARN)]
    return [CUSTOMS_UNKNOWN.finding("mark", seen=record.customs.replace("-", " "))]
