"""What a unit's history adds up to: the record, and the notes that stand in it.

These are plain data classes of text, whole numbers and lists, so that one record has one way of
being written down: moments are UTC in ISO 8601 with microseconds, days `YYYY-MM-DD`, months
`YYYY-MM`, money text. Only the fold changes a record; everybody else reads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final, Literal

import orjson

Presence = Literal["expected", "in-depot", "away", "disposed"]
MarkState = Literal["good", "in-question", "as-painted"]
Approval = Literal["unknown", "approved", "ask", "void", "none"]
Air = Literal["unknown", "ventilated", "tested", "suspect"]
"""What is known of the air inside: `suspect` while a label or a cargo speaks against it."""


NOT_OURS: Final = frozenset({"customer-box", "storage-for-others"})
"""The purposes of units that are not ours to sell."""


@dataclass(slots=True)
class DatedMark:
    """A mark the unit bore from a moment on."""

    mark: str
    since: str


@dataclass(slots=True)
class Question:
    """Something about the unit that a person must settle. Its id survives rebuilding."""

    id: str
    finding: str
    field: str
    event: str
    asks: str
    opened_at: str
    seen: str | int | bool | list[str] | None = None
    expected: str | int | bool | list[str] | None = None


@dataclass(slots=True)
class Breach:
    """A fact that should not have been."""

    event: str
    finding: str
    says: str
    at: str


@dataclass(slots=True)
class OpenDamage:
    """Damage found and not yet mended."""

    id: str
    component: str
    kind: str
    urgency: str
    found_at: str
    place: str | None = None
    measured_mm: int | None = None
    mend_by: str | None = None
    on_lorry: bool = False
    measure: str | None = None
    """As `shared.structural_limits.Measure` writes it; None where the inspector named none."""
    count: int | None = None
    out_of: int | None = None
    photos: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Claim:
    """Damage that was there before the unit was lifted off, and who answers for it.

    `id` is that of the damage, or of the arrival that told of it in words.
    """

    id: str
    says: str
    found_at: str
    responsible: str | None = None
    notice_by: str | None = None
    notice_given_on: str | None = None


@dataclass(slots=True)
class CheckSeen:
    """A stock check saw the unit: where it stood, and where the record had it before."""

    check: str
    depot: str
    slot: str | None
    slot_before: str | None
    not_in: str | None = None
    """Where the record had it, in words, if not in this depot."""


@dataclass(slots=True)
class OpenOrder:
    """Work asked for and not yet reported done."""

    id: str
    lines: dict[str, int]
    ordered_at: str
    due_on: str | None = None
    done: dict[str, int] = field(default_factory=dict)
    """How many pieces of a line are done, where some are."""
    told_by: dict[str, str] | None = None
    """Which kind of event tells of a line, where it is no `modification`; None where nobody looked
    it up: then whatever names the order closes it."""

    def left(self) -> dict[str, int]:
        """Return the lines that are still to be done, with how many pieces."""
        open_lines = {work: count - self.done.get(work, 0) for work, count in self.lines.items()}
        return {work: count for work, count in open_lines.items() if count > 0}


@dataclass(slots=True)
class WorkDone:
    """Work that was reported before its order was recorded, or without one.

    `pieces` are those fitted; of a line that is mended or painted, None: all of it.
    """

    event: str
    kind: str
    at: str
    pieces: dict[str, int | None]
    order: str | None = None


@dataclass(slots=True)
class LiveReservation:
    """The unit is kept for a buyer until a moment."""

    id: str
    buyer: str
    until: str
    intended_use: str


@dataclass(slots=True)
class LiveSale:
    """The unit is sold."""

    id: str
    buyer: str
    intended_use: str
    sold_at: str
    paid: bool = False
    paid_by: str | None = None
    """The payment that was recorded later, by its id; None where it was sold as paid."""
    on_credit: bool = False
    reference: str | None = None
    price: str | None = None
    currency: str | None = None
    journey_ends_on: str | None = None
    handover: str | None = None
    """`collection` or `delivery`; None where nobody said."""
    order: str | None = None
    """The order by quantity that it went on."""
    proof_of_export: str | None = None
    """The reference of what proves that the unit left the country."""
    lines: list[dict[str, Any]] = field(default_factory=list)
    """What is sold with it: `what`, `count`, `price_each` and `net` of each."""
    fitted_before: dict[str, int] = field(default_factory=dict)
    """Where something is sold with it: what was fitted to it when it was sold."""
    tax_rate_percent: str | None = None
    """None for a sale without a price, and for one of before rates were kept."""
    untaxed_because: str | None = None
    net: str | None = None
    """Unit and lines; with `tax` and `gross` the order's to say where it went on one."""
    tax: str | None = None
    gross: str | None = None


@dataclass(slots=True)
class LiveRelease:
    """The sold unit may leave, once."""

    id: str
    reference: str
    released_at: str
    haulier: str | None = None
    expires_at: str | None = None
    marks_authority: str | None = None
    cleared: bool = False
    collector: str | None = None
    """Who may collect, where it was passed on."""
    let_pass: list[str] = field(default_factory=list)
    """The refusals that a manager let pass, in words: the barrier does not ask of them again."""
    former: dict[str, str] = field(default_factory=dict)
    """References that were passed on and are good no more, and when each was."""
    cleared_for: str | None = None
    """Whose lorry the barrier let pass, where it was told."""


@dataclass(slots=True)
class LeftUncleared:
    """How the unit left though nobody had cleared it: a clearance may still come in late.

    `release` is the one that stood when it left.
    """

    event: str
    at: str
    depot: str
    purpose: str
    reference: str | None = None
    haulier: str | None = None
    release: LiveRelease | None = None


@dataclass(slots=True)
class LiveHold:
    """A person stopped something about the unit."""

    id: str
    hold: str
    reason: str
    since: str


@dataclass(slots=True)
class Record:
    """One unit as its history makes it today, or on any day. Alerts are joined when read."""

    unit_id: str
    mark: str | None = None
    mark_state: MarkState = "good"
    marks: list[DatedMark] = field(default_factory=list)
    tag: str | None = None

    presence: Presence = "expected"
    whereabouts: str | None = None
    depot: str | None = None
    slot: str | None = None
    purpose: str | None = None
    batch: str | None = None
    expected_on: str | None = None
    arrived_at: str | None = None
    left_at: str | None = None
    last_seen_at: str | None = None
    check: CheckSeen | None = None
    """How the last stock check that came by found the unit."""

    owner: str | None = None
    title_evidence: str | None = None
    previous_owner: str | None = None
    """Whose marks the unit still bears; None once they are removed or replaced."""
    customs: str | None = None
    customs_entry: str | None = None
    provenance: str | None = None
    condition: str | None = None
    colour: str | None = None
    size_type: str | None = None
    manufactured_in: str | None = None

    gross_kg: int | None = None
    tare_kg: int | None = None
    """As it now is, fittings included."""
    painted_tare_kg: int | None = None
    payload_kg: int | None = None
    cube_m3: str | None = None

    plate: dict[str, Any] | None = None
    """Its lines as `schemas.readings.PlateReading` names them; None when unread or not there."""
    approval: Approval = "unknown"
    next_examination: str | None = None
    """`YYYY-MM`, or `programme`."""

    fittings: dict[str, int] = field(default_factory=dict)
    treated: dict[str, str] = field(default_factory=dict)
    """Work by its name that repairs and markings told of in this stay, and when each was last."""
    repaint: list[str] = field(default_factory=list)
    """What is to be painted anew: `masses`, `mark`."""
    repaint_since: str | None = None
    """When the first of it came up; None while nothing is to be painted."""
    to_weigh: bool = False
    """The shell was cut, and nobody has weighed the unit since."""
    to_weigh_since: str | None = None
    damages: list[OpenDamage] = field(default_factory=list)
    claims: list[Claim] = field(default_factory=list)
    placards: str | None = None
    """Placards or a fumigation label on the unit, in the words on them."""
    last_cargo: str | None = None
    air: Air = "unknown"
    orders: list[OpenOrder] = field(default_factory=list)
    work_ahead: list[WorkDone] = field(default_factory=list)
    """What an order that comes later may have asked for: of this stay, or naming that order."""
    holds: list[LiveHold] = field(default_factory=list)
    reservation: LiveReservation | None = None
    sale: LiveSale | None = None
    release: LiveRelease | None = None
    uncleared: LeftUncleared | None = None
    """How it left last, where that was a breach for want of a clearance."""

    photos: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    breaches: list[Breach] = field(default_factory=list)

    merged_into: str | None = None
    """The unit that this one turned out to be."""
    events: int = 0
    last_key: tuple[str, int, str] = ("", 0, "")
    """Where the last folded event stands in the order; a later arrival before it folds anew."""


def is_free(record: Record, at: datetime) -> bool:
    """Say whether an order may count on the unit: here, ours, known, and promised to nobody.

    A reservation that has ended by `at` keeps it from nobody, though the event that lets it lapse
    is written later.
    """
    kept = record.reservation
    return is_free_unless_reserved(record) and (
        kept is None or datetime.fromisoformat(kept.until) <= at
    )


def is_free_unless_reserved(record: Record) -> bool:
    """Say whether an order may count on the unit as soon as no reservation keeps it."""
    return (
        record.presence == "in-depot"
        and record.mark_state != "in-question"
        and record.purpose not in NOT_OURS
        and record.sale is None
        and not record.holds
        and record.merged_into is None
    )


def bears_marks_to_remove(record: Record) -> bool:
    """Say whether a former owner's marks must come off: it was sold for storage and bears them."""
    sold = record.sale
    return record.previous_owner is not None and sold is not None and sold.intended_use == "storage"


def _left(*, release: dict[str, Any] | None, **rest: Any) -> LeftUncleared:  # noqa: ANN401 - JSON
    return LeftUncleared(**rest, release=None if release is None else LiveRelease(**release))


_NOTES: Final[dict[str, Callable[..., object]]] = {
    "marks": DatedMark,
    "damages": OpenDamage,
    "claims": Claim,
    "orders": OpenOrder,
    "work_ahead": WorkDone,
    "holds": LiveHold,
    "questions": Question,
    "breaches": Breach,
}
_NOTE: Final[dict[str, Callable[..., object]]] = {
    "reservation": LiveReservation,
    "sale": LiveSale,
    "release": LiveRelease,
    "uncleared": _left,
    "check": CheckSeen,
}


def dump_record(record: Record) -> bytes:
    """Write a record in its one way: UTF-8 JSON with sorted keys."""
    return orjson.dumps(record, option=orjson.OPT_SORT_KEYS)


def load_record(body: bytes | str) -> Record:
    """Read what `dump_record` wrote.

    By hand, since drains load a record per event: checking types again would cost more than all
    judging. Raises TypeError or KeyError for anything else.
    """
    read = orjson.loads(body)
    for name, note in _NOTES.items():
        if read.get(name):
            read[name] = [note(**one) for one in read[name]]
    for name, note in _NOTE.items():
        # A record that was written before the field came has not got it.
        if read.get(name) is not None:
            read[name] = note(**read[name])
    moment, rank, event_id = read["last_key"]
    read["last_key"] = (moment, rank, event_id)
    return Record(**read)
