"""What judging gives back, and what it is given besides the record and the event."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from schemas.findings import Finding, Severity
from shared.plates import MonthReading

RULES_VERSION = 1
"""Stands in every history row, so that an old verdict can be understood by its rules."""


@dataclass(frozen=True, slots=True)
class Rulebook:
    """What judging goes by besides the standards: the house's own settings."""

    month_reading: MonthReading = MonthReading.STRICT
    future_tolerance: timedelta = timedelta(minutes=15)
    owner_codes: frozenset[str] = frozenset()
    """The owner codes known to the house: one look-alike away from these warns."""


@dataclass(slots=True)
class Judgement:
    """What was found about one event, what of it is not adopted, what was looked up."""

    findings: list[Finding] = field(default_factory=list)
    doubted: list[str] = field(default_factory=list)
    resolved: dict[str, Any] = field(default_factory=dict)

    @property
    def is_refused(self) -> bool:
        """A decision is refused when one finding says so."""
        return any(finding.severity is Severity.REFUSE for finding in self.findings)

    def add(self, findings: Iterable[Finding], *, about: str) -> None:
        """Take over findings about one reading; a doubt among them leaves it unadopted."""
        for finding in findings:
            self.findings.append(finding)
            if finding.severity is Severity.DOUBT and about not in self.doubted:
                self.doubted.append(about)
