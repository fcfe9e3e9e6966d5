"""Checking what is painted on a box, one by one in full, or a million marks at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import orjson

from schemas.findings import Finding, Severity
from schemas.readings import Masses
from shared import marks
from shared.marks import CATEGORIES
from shared.marks_bulk import check_marks
from shared.misreads import KnownMarkSets
from tracker.judge.identity import REMAINDER_TEN, judge_mark
from tracker.judge.masses import judge_masses
from tracker.judge.size_type import judge_size_type

_NOBODY: Final = KnownMarkSets()
_LOT: Final = 50_000


@dataclass(frozen=True, slots=True)
class Result:
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

    def to_json(self) -> bytes:
        """Write the result with the names others rely on."""
        return orjson.dumps(
            {
                "mark": self.mark,
                "ok": self.ok,
                "findings": [finding.model_dump(mode="json") for finding in self.findings],
                "suggestions": self.suggestions,
                "decoded": self.decoded,
            }
        )


class Readings(NamedTuple):
    """What is painted beside a mark, judged."""

    findings: tuple[Finding, ...]
    decoded: dict[str, Any]


def judge_readings(size_type: str | None, masses: Masses) -> Readings | None:
    """Judge a size-type code and masses; None when neither was given."""
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
    return Readings(tuple(findings), decoded) if decoded else None


def judge_one(as_read: str | None, readings: Readings | None = None) -> Result:
    """Judge one mark, if there is one, with what is painted beside it."""
    beside = readings or Readings((), {})
    if as_read is None:
        return Result(None, beside.findings, (), beside.decoded)
    found = judge_mark(as_read, _NOBODY)
    return Result(
        found.mark or marks.find_compact(as_read) or as_read,
        (*found.findings, *beside.findings),
        tuple(one.mark for one in found.suggestions),
        {**found.decoded, **beside.decoded},
    )


def check_many(texts: Sequence[str], readings: Readings | None) -> Iterator[Result | bytes]:
    """Check many marks, in their order.

    Those that are right, as nearly all are, come as finished JSON; the others as results.
    """
    if readings is not None:
        yield from (judge_one(text, readings) for text in texts)
        return
    for first in range(0, len(texts), _LOT):
        lot = texts[first : first + _LOT]
        checks = check_marks(lot)
        tens = (checks.remainder == 10).tolist()
        for text, ok, ten in zip(lot, checks.ok.tolist(), tens, strict=True):
            yield _write_right(text, ten=ten) if ok else judge_one(text)


def _write_right(text: str, *, ten: bool) -> bytes:
    mark = marks.find_compact(text) or text
    findings = _TEN if ten else "[]"
    return (
        f'{{"mark":"{mark}","ok":true,"findings":{findings},"suggestions":[],"decoded":'
        f'{{"owner":"{mark[:3]}","category":"{mark[3]}","category_means":{_MEANS[mark[3]]},'
        f'"serial":"{mark[4:10]}","check_digit":"{mark[10]}"}}}}'
    ).encode()


_TEN: Final = (
    b"["
    + orjson.dumps(REMAINDER_TEN.finding("mark", seen=10, expected=0).model_dump(mode="json"))
    + b"]"
).decode()
_MEANS: Final = {
    letter: orjson.dumps(category.means).decode() for letter, category in CATEGORIES.items()
}
