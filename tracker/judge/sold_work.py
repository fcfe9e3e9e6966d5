"""Is done what was sold with a unit? A sale's lines against what was fitted, mended and painted.

A sale orders no work: somebody does, by a work order. So that nothing sold is forgotten, a release
waits until the record tells of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.table_files import Certainty
from shared.work import ReportedAs, WorkItem
from tracker.judge.judgement import Rulebook
from tracker.judge.rules import Rule

_SOURCE: Final = "Hardstand design, sale and release"

MISSING: Final = Rule(
    id="release.sold-work-missing",
    severity=Severity.REFUSE,
    sentence="It was sold with {seen}, and nobody has reported that done. Order the work; if the "
    "buyer takes the unit without it, correct the sale.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Conversions sold with a unit are fitted before it goes. A commercial refusal.",
)
FROM_BEFORE: Final = Rule(
    id="release.sold-work-from-before",
    severity=Severity.WARN,
    sentence="It was sold with {seen}; what the record tells of was done before the sale. Make "
    "sure that this is what the buyer bought.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Work that was done for the buyer before the sale was written down counts for it; work "
    "that the unit had all along would be counted, too.",
)
UNKNOWN: Final = Rule(
    id="release.sold-beside-catalogue",
    severity=Severity.NOTE,
    sentence="It was sold with {seen}, which the catalogue of work does not know. See that the "
    "buyer gets it.",
    source=_SOURCE,
    certainty=Certainty.DESIGN,
    means="Whether it is done cannot be told from the record.",
)
RULES: Final = (MISSING, FROM_BEFORE, UNKNOWN)


def hinders_release(record: Record, rules: Rulebook) -> list[Finding]:
    """Return what the conversions sold with a unit have against releasing it."""
    if record.sale is None or not record.sale.lines:
        return []
    sold = sold_work(record, rules.catalogue)
    missing = work_missing(record, rules.catalogue)
    before = {
        name: count
        for name, count in sold.items()
        if name not in missing and _done_since(record, rules.catalogue[name]) < count
    }
    lines = record.sale.lines
    unknown = [line["what"] for line in lines if not work_named(line["what"], rules.catalogue)]
    found = [
        rule.finding("lines", seen=_in_words(works))
        for rule, works in ((MISSING, missing), (FROM_BEFORE, before))
        if works
    ]
    return found + ([UNKNOWN.finding("lines", seen=", ".join(unknown))] if unknown else [])


def sold_work(record: Record, catalogue: Mapping[str, WorkItem]) -> dict[str, int]:
    """Return how many pieces of each work of the catalogue were sold with the unit."""
    sold: dict[str, int] = {}
    for line in record.sale.lines if record.sale is not None else ():
        if name := work_named(line["what"], catalogue):
            sold[name] = sold.get(name, 0) + line["count"]
    return sold


def work_missing(record: Record, catalogue: Mapping[str, WorkItem]) -> dict[str, int]:
    """Return how many pieces of each work sold with the unit nobody has reported done."""
    left = {
        name: count - _done(record, catalogue[name], count)
        for name, count in sold_work(record, catalogue).items()
    }
    return {name: count for name, count in left.items() if count > 0}


def work_named(what: str, catalogue: Mapping[str, WorkItem]) -> str | None:
    """Return the work that a line means, by its name or its words; None where it is no work."""
    said = what.strip().casefold()
    name = "-".join(said.replace("-", " ").split())
    for one in (name, name.removesuffix("s")):
        if one in catalogue:
            return one
    return next((item.name for item in catalogue.values() if item.words.casefold() == said), None)


def _done(record: Record, item: WorkItem, sold: int) -> int:
    if item.reported_as is ReportedAs.MODIFICATION:
        return record.fittings.get(item.name, 0)
    # Mending and painting are told of by the line, not by the piece.
    return sold if item.name in record.treated else 0


def _done_since(record: Record, item: WorkItem) -> int:
    """Return how many pieces were done since the sale; all of what is told of by the line."""
    sold = record.sale
    if sold is None:
        return 0
    if item.reported_as is ReportedAs.MODIFICATION:
        return record.fittings.get(item.name, 0) - sold.fitted_before.get(item.name, 0)
    is_since = record.treated.get(item.name, "") >= sold.sold_at
    return sum(line["count"] for line in sold.lines) if is_since else 0


def _in_words(works: Mapping[str, int]) -> str:
    return ", ".join(
        f"{count} \N{MULTIPLICATION SIGN} {name.replace('-', ' ')}" for name, count in works.items()
    )
