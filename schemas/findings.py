"""What a judgement says about an event: findings, each with an id that never changes."""

from __future__ import annotations

from enum import StrEnum

from pydantic import BaseModel, ConfigDict

FindingValue = str | int | bool | None | list[str]
"""A value in a finding, as a person would read it: text with its unit, or a plain number."""


class Severity(StrEnum):
    """How much a finding weighs.

    REFUSE: granting a decision would be wrong; only on decisions.
    BREACH: a fact that should not have been; recorded, and told to the manager at once.
    DOUBT: a value cannot be right; the fact is recorded, the value not adopted, a question opens.
    WARN: shown to the person. NOTE: kept.
    """

    REFUSE = "refuse"
    BREACH = "breach"
    DOUBT = "doubt"
    WARN = "warn"
    NOTE = "note"


class Finding(BaseModel):
    """One thing a judgement found. Holds no advice on what to do with it; that is the rule's."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    """`family.what-is-wrong`, from the catalogue in `tracker.judge.catalogue`."""
    severity: Severity
    field: str
    """The field of the event it is about, dotted (`masses.payload_kg`)."""
    message: str
    """A sentence in plain words, values with their units."""
    seen: FindingValue = None
    expected: FindingValue = None
    source: str
    """Where the rule comes from, and how certain that is."""
