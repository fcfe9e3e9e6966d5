"""What a rule is, and the grammar of its id.

A finding's id is `family.what-is-wrong`: lower case, words joined by hyphens, one dot. The family
is the thing judged (`mark`, `size`, `mass`, `plate`, `presence`, `sale`, …), the rest names what is
wrong in the trade's words, so that the id read aloud is already half the sentence. An id is stable
for ever: it stands in histories, and question ids are made of it. A rule that changes its meaning
gets a new id.

Each family has one file here, which begins with its rules and goes on with the functions that find
them. `catalogue` lists all families.
"""

from __future__ import annotations

from dataclasses import dataclass

from schemas.findings import Finding, FindingValue, Severity
from shared.table_files import Certainty


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its id, its weight, its sentence, and what it rests on.

    `sentence` is a format string; `finding` fills it. `source` names the text the rule comes from;
    our own rules say "Hardstand design". A rule whose certainty is memory or practice may not
    refuse, breach or doubt on its own: `__post_init__` holds that.
    """

    id: str
    severity: Severity
    sentence: str
    source: str
    certainty: Certainty
    means: str
    """One sentence for the page that lists all findings: when it appears and what follows."""

    def __post_init__(self) -> None:
        """Hold the two promises every rule makes: its id's grammar, and no refusal from memory."""
        family, dot, wrong = self.id.partition(".")
        if not (dot and family.isalpha() and wrong.replace("-", "").isalnum()):
            raise ValueError(f"{self.id!r} is no rule id; expected family.what-is-wrong")
        weighty = self.severity not in (Severity.WARN, Severity.NOTE)
        if weighty and self.certainty in (Certainty.MEMORY, Certainty.PRACTICE):
            raise ValueError(f"{self.id} rests on {self.certainty} and may only warn or note")

    def finding(
        self,
        field: str,
        *,
        seen: FindingValue = None,
        expected: FindingValue = None,
        severity: Severity | None = None,
        **words: object,
    ) -> Finding:
        """Return this rule's finding about `field`; `words` fill the sentence.

        `severity` may soften the rule for one case (a doubt that is only a warning for storage).
        """
        return Finding(
            id=self.id,
            severity=self.severity if severity is None else severity,
            field=field,
            message=self.sentence.format(seen=seen, expected=expected, **words),
            seen=seen,
            expected=expected,
            source=f"{self.source} ({self.certainty.value})",
        )


def designed_refusal(source: str, rule_id: str, sentence: str, means: str) -> Rule:
    """Return a rule of this program's own design that refuses; `source` names the part of it."""
    return Rule(
        id=rule_id,
        severity=Severity.REFUSE,
        sentence=sentence,
        source=source,
        certainty=Certainty.DESIGN,
        means=means,
    )
