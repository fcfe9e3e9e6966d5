"""Write the release note of a unit: every condition asked, met or not, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from schemas.findings import Finding, Severity
from schemas.records import Record
from tracker.judge import release_rules, sale, sold_work, travel, work_rules
from tracker.judge.rules import Rule
from tracker.papers.release_note import Condition, ReleaseNote
from tracker.services import paper_values
from tracker.services.context import Context
from tracker.services.unit_view import UnitView


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing asked of a unit before it may leave; its uses, None for every one."""

    says: str
    rules: tuple[Rule, ...]
    uses: tuple[str, ...] | None = None

    def concerns(self, use: str | None) -> bool:
        """Say whether it is asked of a unit that is sold for this use."""
        return self.uses is None or use in self.uses


_TRAVELS: Final = ("export", "transport")
ASKED: Final = (
    Asked("It is sure which unit it is", (sale.MARK_IN_QUESTION,)),
    Asked("It is on the ground of the depot", (sale.NOT_IN_DEPOT,)),
    Asked("It is sold", (sale.NOT_SOLD,)),
    Asked("It is paid, or sold on credit", (sale.UNPAID,)),
    Asked("Nobody holds it", (sale.HELD,)),
    Asked("Work and mending due are done", (sale.WORK_OPEN,)),
    Asked("What was sold with it is done", sold_work.RULES),
    Asked("Its plate pack is complete", (release_rules.PACK_INCOMPLETE,), ("export",)),
    Asked("Its customs status allows it", (release_rules.CUSTOMS_UNKNOWN,)),
    Asked("Former owner's marks are off, or allowed", (release_rules.MARKS_REMAIN,)),
    Asked("Placards and labels are off", (release_rules.LABELS_ON,)),
    Asked("It was weighed after its shell was cut", (work_rules.TO_WEIGH,)),
    Asked("The masses on its doors are right", (travel.MASSES_TO_PAINT,)),
    Asked("Its safety approval stands", (travel.APPROVAL_VOID,)),
    Asked("Examined to last the journey", (travel.NO_EXAMINATION,), _TRAVELS),
    Asked("Its release is live", (sale.NO_RELEASE, sale.EXPIRED, sale.USED_UP)),
)
"""All that is asked, in the order of the paper. What else refuses gets a line of its own."""


def note_of(context: Context, view: UnitView) -> ReleaseNote:
    """Return the release note of a unit as it stands now; without a live release it gives none."""
    record = paper_values.record_of(view)
    with context.engine.begin() as connection:
        rules = context.rulebook(connection)
    live, sold = record.release, record.sale
    # What a manager let pass is told by its own words beside what it is about.
    plain = record if live is None else replace(record, release=replace(live, let_pass=[]))
    found = sale.hinders_leaving(plain, context.clock.now(), rules)
    use = "storage" if sold is None else sold.intended_use
    return ReleaseNote.model_validate(
        {
            "unit": paper_values.unit_of(record),
            "issue": paper_values.issue_of(context, view),
            "reference": live.reference if live else None,
            "collector": live.collector if live else None,
            "haulier": live.haulier if live else None,
            "buyer": sold.buyer if sold else None,
            "intended_use": use,
            "slot": record.slot if record.presence == "in-depot" else None,
            "handover": sold.handover if sold else None,
            "collected": int(live.cleared) if live else 0,
            "expires_at": _moment(live.expires_at) if live else None,
            "conditions": tuple(conditions(found, use, let_pass=_let_pass(view, record))),
        }
    )


def conditions(
    found: Iterable[Finding], use: str | None, *, let_pass: frozenset[str] = frozenset()
) -> Iterator[Condition]:
    """Give every condition asked of a use, and what `found` says against it.

    A warning leaves a condition met and is told with it; so is a refusal that a manager let pass,
    of which `let_pass` holds the message.
    """
    left = list(found)
    for asked in ASKED:
        ids = {rule.id for rule in asked.rules}
        against = [one for one in left if one.id in ids]
        left = [one for one in left if one.id not in ids]
        if against or asked.concerns(use):
            yield _answered(asked.says, against, let_pass)
    for one in left:
        yield _answered(one.id.partition(".")[2].replace("-", " ").capitalize(), [one], let_pass)


def _answered(says: str, against: list[Finding], let_pass: frozenset[str]) -> Condition:
    refused = [
        one for one in against if one.severity is Severity.REFUSE and one.message not in let_pass
    ]
    return Condition(
        says=says, met=not refused, why=" ".join(_why(one, let_pass) for one in against)
    )


def _why(finding: Finding, let_pass: frozenset[str]) -> str:
    if finding.severity is not Severity.REFUSE:
        return f"Warning: {finding.message}"
    return (
        f"A manager let pass: {finding.message}" if finding.message in let_pass else finding.message
    )


def _let_pass(view: UnitView, record: Record) -> frozenset[str]:
    """Return the messages of refusals that the live release was granted in spite of."""
    granted = record.release.id if record.release else None
    return frozenset(
        str(found["seen"])
        for row in view.history
        if row["id"] == granted
        for found in row["findings"]
        if found["id"] == release_rules.OVERRIDDEN.id
    )


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
