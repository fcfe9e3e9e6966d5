"""What judging gives back, and what it is given besides the record and the event."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Any

from schemas.findings import Finding, Severity
from shared.misreads import KnownMarks, KnownMarkSets
from shared.plates import MonthReading
from shared.work import WorkItem, starting_catalogue

RULES_VERSION = 1
"""Stands in every history row, so that an old verdict can be understood by its rules."""


@dataclass(frozen=True, slots=True)
class Rulebook:
    """What judging goes by besides the standards: the house's own settings."""

    month_reading: MonthReading = MonthReading.STRICT
    future_tolerance: timedelta = timedelta(minutes=15)
    known: KnownMarks = field(default_factory=KnownMarkSets)
    """The owner codes known to the house; one look-alike away from these warns."""
    zones: Mapping[str, tzinfo] = field(default_factory=dict)
    """Each depot's time zone, in which its days are reckoned; UTC where none is given."""
    catalogue: Mapping[str, WorkItem] = field(default_factory=starting_catalogue)
    """The work that the house does, by name."""
    currency: str = "EUR"
    tax_rate_percent: Decimal = Decimal(0)
    """Of sales that name none themselves."""

    def zone_of(self, depot: str | None) -> tzinfo:
        """Return the zone of a depot; UTC where it is not known."""
        return self.zones.get(depot or "", UTC)

    def day_of(self, moment: datetime, depot: str) -> date:
        """Return the day on which `moment` lies at `depot`."""
        return moment.astimezone(self.zone_of(depot)).date()


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

    def add(self, findings: Iterable[Finding], doubted: Iterable[str] = ()) -> None:
        """Take over findings, and the fields that are not adopted because of them."""
        self.findings.extend(findings)
        self.doubted.extend(path for path in doubted if path not in self.doubted)
