"""What folding one entry brings up besides the record's change: questions and breaches."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field

from schemas.findings import Finding
from schemas.records import Breach, Question, Record
from tracker.judge.entry import Entry, question_id


@dataclass(slots=True)
class Notes:
    """Collects what one entry gives rise to. Keeps questions that were settled from reopening."""

    settled: Container[str] = frozenset()
    marks_asked_about: Container[str | None] = frozenset()
    """Marks in question whose question another entry of the history brings up."""
    findings: list[Finding] = field(default_factory=list)

    def ask(self, record: Record, entry: Entry, finding: Finding) -> None:
        """Open the question of `finding`, unless it was settled."""
        self.findings.append(finding)
        open_question(record, entry, finding, self.settled)

    def tell(self, finding: Finding) -> None:
        """Say something that neither asks nor accuses."""
        self.findings.append(finding)

    def is_settled(self, entry: Entry, finding: Finding) -> bool:
        """Say whether somebody has settled the question of `finding` about this entry."""
        return question_id(entry.event_id, finding.id, finding.field) in self.settled

    def report(self, record: Record, entry: Entry, finding: Finding) -> None:
        """Note a breach."""
        self.findings.append(finding)
        record.breaches.append(
            Breach(entry.event_id, finding.id, finding.message, entry.effective_at)
        )


def open_question(record: Record, entry: Entry, finding: Finding, settled: Container[str]) -> None:
    """Let the question of a doubt stand in the record, unless it was settled."""
    known = question_id(entry.event_id, finding.id, finding.field)
    if known in settled or any(question.id == known for question in record.questions):
        return
    record.questions.append(
        Question(
            id=known,
            finding=finding.id,
            field=finding.field,
            event=entry.event_id,
            asks=finding.message,
            opened_at=entry.effective_at,
            seen=finding.seen,
            expected=finding.expected,
        )
    )
