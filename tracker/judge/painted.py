"""Judge what is painted on a box before anybody reports it: a mark, and what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

from schemas.findings import Finding, Severity
from schemas.readings import Masses
from shared import marks
from shared.misreads import KnownMarks, KnownMarkSets
from tracker.judge.identity import judge_mark
from tracker.judge.masses import judge_masses
from tracker.judge.size_type import judge_size_type

_NOBODY: Final = KnownMarkSets()


@dataclass(frozen=True, slots=True)
class Painted:
    """What was found about one mark and what is painted beside it."""

    mark: str | None
    """In normal form; as it was given where it has not the shape of a mark."""
    findings: tuple[Finding, ...] = ()
    suggestions: tuple[str, ...] = ()
    decoded: dict[str, Any] = field(default_factory=dict)

    @property
    def ok(self) -> bool:
        """Fine when nothing in it is a doubt."""
        return not any(finding.severity is Severity.DOUBT for finding in self.findings)

    def told(self) -> dict[str, Any]:
        """Return it as JSON, with the names others rely on."""
        return {
            "mark": self.mark,
            "ok": self.ok,
            "findings": [finding.model_dump(mode="json") for finding in self.findings],
            "suggestions": self.suggestions,
            "decoded": self.decoded,
        }


class Beside(NamedTuple):
    """What is painted beside a mark, judged; `decoded` is empty where nothing was given."""

    findings: tuple[Finding, ...] = ()
    decoded: dict[str, Any] = {}  # noqa: RUF012 - nobody changes it


def judge_beside(size_type: str | None, masses: Masses) -> Beside:
    """Judge a size-type code and masses, each where it is given."""
    findings: list[Finding] = []
    decoded: dict[str, Any] = {}
    if size_type is not None:
        code = judge_size_type(size_type)
        findings += code.findings
        decoded["size_type"] = code.decoded
    if masses.model_dump(exclude_none=True):
        judged = judge_masses(masses, size_type=size_type)
        findings += judged.findings
        decoded["payload_kg"] = judged.payload_kg
    return Beside(tuple(findings), decoded)


def judge_painted(as_read: str | None, beside: Beside, known: KnownMarks = _NOBODY) -> Painted:
    """Judge one mark, if there is one, with what is painted beside it."""
    if as_read is None:
        return Painted(None, beside.findings, (), beside.decoded)
    found = judge_mark(as_read, known)
    return Painted(
        found.mark or marks.find_compact(as_read) or as_read,
        (*found.findings, *beside.findings),
        tuple(one.mark for one in found.suggestions),
        {**found.decoded, **beside.decoded},
    )
