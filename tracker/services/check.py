"""Check what is painted on a box before it is reported: can it be right, what else may it be?"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from schemas.findings import Finding, Severity
from schemas.readings import Masses
from shared import marks
from tracker.judge.identity import judge_mark
from tracker.judge.masses import judge_masses
from tracker.judge.size_type import judge_size_type
from tracker.services.context import Context
from tracker.services.known_marks import StoredMarks


@dataclass(slots=True)
class Check:
    """What was found about a mark and what is painted beside it. Records nothing."""

    mark: str | None = None
    """In normal form; as it was given where it has not the shape of a mark."""
    findings: list[Finding] = field(default_factory=list)
    suggestions: list[str] = field(default_factory=list)
    decoded: dict[str, Any] = field(default_factory=dict)

    @property
    def ok(self) -> bool:
        """Fine when nothing in it is a doubt."""
        return not any(finding.severity is Severity.DOUBT for finding in self.findings)


def check(
    context: Context,
    *,
    mark: str | None,
    size_type: str | None,
    masses: Masses,
    depot: str | None = None,
) -> Check:
    """Judge a mark, a size-type code and masses, each where it is given.

    Suggestions are marks expected at `depot`, or anywhere where none is named, then those that any
    depot knows, then others.
    """
    found = Check()
    if mark is not None:
        _check_mark(context, mark, depot, found)
    if size_type is not None:
        code = judge_size_type(size_type)
        found.findings += code.findings
        found.decoded["size_type"] = code.decoded
    if masses.model_dump(exclude_none=True):
        judged = judge_masses(masses, size_type=size_type)
        found.findings += judged.findings
        found.decoded["payload_kg"] = judged.payload_kg
    return found


def _check_mark(context: Context, as_read: str, depot: str | None, found: Check) -> None:
    with context.engine.begin() as connection:
        judged = judge_mark(as_read, StoredMarks(connection, depot))
    found.mark = judged.mark or marks.find_compact(as_read) or as_read
    found.findings += judged.findings
    found.suggestions += [one.mark for one in judged.suggestions]
    found.decoded |= judged.decoded
