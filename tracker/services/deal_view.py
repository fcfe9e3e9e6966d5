"""Show what a seller asks of a unit: may it be promised, and what does its release wait for?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

import orjson

from schemas.findings import Finding, Severity
from schemas.records import LiveSale, Record
from tracker.judge import sale, sold_work
from tracker.judge.judgement import Rulebook
from tracker.judge.release_rules import lacks_of_pack
from tracker.services.context import Context
from tracker.services.sight import Sight, is_here
from tracker.services.unit_view import UnitUnknownError, find_unit
from tracker.store import people, records


class Standing(StrEnum):
    """How a condition of release stands."""

    MET = "met"
    WARNS = "warns"
    NOT_MET = "not-met"
    NOT_ASKED = "not-asked"
    """The use that it is sold for does not ask for it."""


CONDITIONS: Final[dict[str, tuple[str, ...]]] = {
    "It is known which unit it is": ("sale.mark-in-question",),
    "It stands here": ("release.not-in-depot",),
    "It is sold": ("release.not-sold",),
    "It is paid, or sold on credit": ("release.unpaid",),
    "Nothing holds it": ("release.held",),
    "Work and urgent damage are finished": ("release.work-unfinished",),
    "No serious damage is open": ("release.serious-damage",),
    "What was sold with it is done": (
        "release.sold-work-missing",
        "release.sold-work-from-before",
        "release.sold-beside-catalogue",
    ),
    "The masses on its doors are right": ("release.masses-to-repaint", "release.to-weigh"),
    "Its safety approval lets it go": ("release.approval-void",),
    "Its examination lasts until the journey ends": ("release.no-valid-examination",),
    "Its plate pack is complete": ("release.plate-pack-incomplete",),
    "Its customs status allows it": ("release.customs-unknown",),
    "No other owner's marks are on it": ("release.previous-marks",),
}
"""What a release waits for, in words, and the findings that say it is not so."""

PACK: Final = "Its plate pack is complete"
_TRAVELS: Final = ("export", "transport")
ASKED_FOR: Final[dict[str, tuple[str, ...]]] = {
    "Its examination lasts until the journey ends": _TRAVELS,
    PACK: ("export",),
}
"""What only some uses ask for; all else is asked for any."""

BESIDES: Final = "Nothing else stands against it"


@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that a release waits for, and what was found about it."""

    says: str
    standing: Standing
    findings: tuple[Finding, ...] = ()
    note: str = ""
    """How it stands all the same, where it is not asked for."""


@dataclass(frozen=True, slots=True)
class Deal:
    """A unit as a seller sees it, people named."""

    unit_id: UUID
    name: str
    record: dict[str, Any]
    promise: tuple[Finding, ...]
    """What stands against reserving or selling it to somebody new."""
    conditions: tuple[Condition, ...]
    """Of its release, for the use it is sold for; where it is not sold, for the use asked about."""

    to_order: dict[str, int] = field(default_factory=dict)
    """Work that was sold with it and is neither done nor ordered, in pieces."""
    reservation_ended: bool = False
    """The reservation that the record has keeps it from nobody any more."""

    @property
    def may_be_promised(self) -> bool:
        """Say whether it can be reserved or sold."""
        return not any(finding.severity is Severity.REFUSE for finding in self.promise)

    @property
    def may_be_released(self) -> bool:
        """Say whether every condition of its release is met."""
        return all(one.standing is not Standing.NOT_MET for one in self.conditions)


def show_deal(context: Context, sight: Sight, name: str, *, use: str = "storage") -> Deal:
    """Return a unit at one of their depots as a seller sees it.

    Args:
        context: The process's means.
        sight: What whoever asks may see.
        name: A mark the unit bears or ever bore, its tag, or its id.
        use: What its buyer would want it for, as long as nobody has bought it.

    Raises:
        UnitUnknownError: there is no such unit, or it is not at a depot of theirs.
    """
    with context.engine.begin() as connection:
        unit_id = find_unit(connection, name)
        if not is_here(connection, sight, unit_id):
            raise UnitUnknownError(name)
        record = records.load(connection, [unit_id])[unit_id]
        rules, now = context.rulebook(connection), context.clock.now()
        as_sold = _as_if_sold(record, use)
        found = sale.hinders_release(as_sold, now, rules)
        if record.sale is None:
            found.append(sale.NOT_SOLD.finding("mark"))
        kept = record.reservation
        shown = people.reveal(connection, orjson.loads(orjson.dumps(record)))
    return Deal(
        unit_id,
        record.mark or record.tag or str(unit_id),
        shown,
        tuple(sale.hinders_promise(record, None, now)),
        tuple(conditions_of(found, as_sold)),
        to_order=_to_order(record, rules),
        reservation_ended=kept is not None and datetime.fromisoformat(kept.until) <= now,
    )


def _to_order(record: Record, rules: Rulebook) -> dict[str, int]:
    left = sold_work.work_missing(record, rules.catalogue)
    for order in record.orders:
        for work, count in order.left().items():
            if work in left:
                left[work] -= count
    return {work: count for work, count in left.items() if count > 0}


def conditions_of(found: Sequence[Finding], record: Record) -> list[Condition]:
    """Return every condition of releasing a sold unit, met or not, by what was found against it."""
    named = {rule for rules in CONDITIONS.values() for rule in rules}
    told = [
        _condition(says, [one for one in found if one.id in rules])
        if _is_asked(says, record)
        else Condition(says, Standing.NOT_ASKED, note=_not_asked(says, record))
        for says, rules in CONDITIONS.items()
    ]
    return [*told, _condition(BESIDES, [one for one in found if one.id not in named])]


def _is_asked(says: str, record: Record) -> bool:
    uses = ASKED_FOR.get(says)
    return uses is None or record.sale is None or record.sale.intended_use in uses


def _not_asked(says: str, record: Record) -> str:
    """Say for which uses a condition is asked, and how it stands in the words of its paper."""
    told = f"Asked for {' and '.join(ASKED_FOR[says])} only."
    if says != PACK:
        return told
    lacks = lacks_of_pack(record)
    return f"{told} It lacks {', '.join(lacks)}." if lacks else f"{told} It is complete."


def _condition(says: str, found: list[Finding]) -> Condition:
    if any(one.severity is Severity.REFUSE for one in found):
        return Condition(says, Standing.NOT_MET, tuple(found))
    return Condition(says, Standing.WARNS if found else Standing.MET, tuple(found))


def _as_if_sold(record: Record, use: str) -> Record:
    if record.sale is not None:
        return record
    return replace(record, sale=LiveSale("", "", use, "", paid=True))
