"""May a unit travel? What export and transport ask, and what of it only warns for storage."""

from __future__ import annotations

from datetime import date, datetime
from functools import partial
from typing import Final

from schemas.events.deal import IntendedUse
from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.masses import write_kilograms
from shared.months import Month
from shared.plates import MonthReading
from shared.table_files import Certainty
from tracker.judge import work
from tracker.judge.judgement import Rulebook
from tracker.judge.rules import Rule, designed_refusal

_refusal: Final = partial(designed_refusal, "Hardstand design, sale and release")


MASSES_TO_PAINT: Final = _refusal(
    "release.masses-to-repaint",
    "Its tare as it now is, {expected}, is not the one painted on its doors, {seen}. Paint it "
    "first.",
    "The masses on the doors must be right for export and any transport; for storage this is a "
    "warning.",
)
APPROVAL_VOID: Final = _refusal(
    "release.approval-void",
    "Its safety approval is {words}",
    "A safety refusal for export and transport: lifted by evidence, by nobody's word. One "
    "that is open needs the body's answer that it stands, one that is void a new approval. For "
    "storage this is a warning.",
)
NO_EXAMINATION: Final = Rule(
    id="release.no-valid-examination",
    severity=Severity.REFUSE,
    sentence="Its examination does not last until the journey ends: next examination {seen}, "
    "journey ends {expected}.",
    source="CSC Annex I reg. 2; CTU Code annex 4 §1.2.3",
    certainty=Certainty.READ,
    means="Export and transport need a plate date after the journey, or a programme. A safety "
    "refusal: lifted by an examination.",
)
RULES: Final = (MASSES_TO_PAINT, APPROVAL_VOID, NO_EXAMINATION)

_APPROVALS: Final = {
    "void": "void since the shell was changed. Only a new approval lets it travel under the "
    "Convention.",
    "ask": "open until the approving body has answered. Its answer that the approval stands lets "
    "it travel under the Convention, or a new approval.",
    "none": "missing, for it has no plate. Only an approval with its plate lets it travel under "
    "the Convention.",
}
"""How an approval stands that lets nothing travel, and what changes that."""


def hinders_use(record: Record, now: datetime, rules: Rulebook) -> list[Finding]:
    """What the Convention asks of export and transport, and only a warning tells storage."""
    use = record.sale.intended_use if record.sale is not None else None
    travels = use in (IntendedUse.EXPORT, IntendedUse.TRANSPORT)
    weight = Severity.REFUSE if travels else Severity.WARN
    found = work.hinders_use(record, weight)
    if "masses" in record.repaint:
        found.append(
            MASSES_TO_PAINT.finding(
                "mark",
                seen=_kg(record.painted_tare_kg),
                expected=_kg(record.tare_kg),
                severity=weight,
            )
        )
    if record.approval in ("void", "ask", "none"):
        found.append(
            APPROVAL_VOID.finding(
                "mark",
                seen=record.approval,
                severity=weight,
                words=_APPROVALS[record.approval],
            )
        )
    if travels and not _examination_lasts(record, now, rules):
        ends = record.sale.journey_ends_on if record.sale else None
        found.append(
            NO_EXAMINATION.finding(
                "mark", seen=record.next_examination or "unknown", expected=ends or "today"
            )
        )
    return found


def _kg(mass: int | None) -> str:
    return "unknown" if mass is None else write_kilograms(mass)


def _examination_lasts(record: Record, now: datetime, rules: Rulebook) -> bool:
    if record.next_examination == "programme":
        return True
    if record.next_examination is None:
        return False
    ends = record.sale.journey_ends_on if record.sale else None
    needed = date.fromisoformat(ends) if ends else rules.day_of(now, record.depot or "")
    month = Month.parse(record.next_examination)
    strict = rules.month_reading is MonthReading.STRICT
    return needed < month.first_day() if strict else needed <= month.last_day()
