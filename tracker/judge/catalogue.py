"""All rules there are, by family; and the page that lists their findings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from tracker.judge import (
    claims,
    damage_rules,
    days,
    decisions,
    facts,
    gas,
    identity,
    inspection_rules,
    leaving,
    mass_rules,
    order_rules,
    payment,
    plate_rules,
    presence,
    price,
    release_rules,
    sale,
    settling_rules,
    size_type,
    sold_work,
    work_rules,
)
from tracker.judge.rules import Rule

RULES: Final[tuple[Rule, ...]] = (
    *identity.RULES,
    *size_type.RULES,
    *mass_rules.RULES,
    *plate_rules.RULES,
    *inspection_rules.RULES,
    *gas.RULES,
    *damage_rules.RULES,
    *claims.RULES,
    *facts.RULES,
    *work_rules.RULES,
    *presence.RULES,
    *leaving.RULES,
    *decisions.RULES,
    *sale.RULES,
    *price.RULES,
    *days.RULES,
    *release_rules.RULES,
    *sold_work.RULES,
    *payment.RULES,
    *order_rules.RULES,
    *settling_rules.RULES,
)
"""Every rule, in the order in which the page lists the families."""

_HEAD: Final = """\
# Findings

What judging may find, by id. An id never changes its meaning. A `refuse` refuses a decision; a
`breach` is a fact that should not have been, told to the manager at once; a `doubt` opens a
question, and the value is not adopted; a `warn` is shown; a `note` is kept. A rule known from
memory or practice only never weighs more than a `warn`. The severity is the usual one: a few
findings weigh less where the box is meant for storage. This page is made by `make docs`.
"""


def families(rules: Sequence[Rule] = RULES) -> Iterator[tuple[str, list[Rule]]]:
    """Give each family with its rules, in the order in which they are first met."""
    found: dict[str, list[Rule]] = {}
    for rule in rules:
        found.setdefault(rule.id.partition(".")[0], []).append(rule)
    yield from found.items()


def as_markdown() -> str:
    """Return the page that lists all findings, a table per family."""
    return _HEAD + "".join(_section(family, rules) for family, rules in families())


def _section(family: str, rules: Sequence[Rule]) -> str:
    titles = "| id | severity | when, and what follows | source |\n|---|---|---|---|\n"
    return f"\n## {family}\n\n{titles}{''.join(map(_row, rules))}"


def _row(rule: Rule) -> str:
    cells = (f"`{rule.id}`", rule.severity.value, rule.means, f"{rule.source} ({rule.certainty})")
    return "| " + " | ".join(cell.replace("|", r"\|") for cell in cells) + " |\n"
