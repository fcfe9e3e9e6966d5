"""What a record makes fall due, when, and which reminder a day asks for.

Everything here follows from the record alone. What a stock check did not find is told by the check
itself, and stands until the record says that the unit was seen (`is_still_unseen`). That an order
is short follows from a depot's whole stock; `services/short_orders.py` tells it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import cache
from typing import Final, NamedTuple

from schemas.records import NOT_OURS, LiveRelease, LiveSale, Record
from shared.due_schedule import Schedule, schedules
from shared.months import Month
from shared.plates import MonthReading, last_valid_day
from tracker.judge.release_rules import lacks_of_pack

EXAMINATION_DUE: Final = "examination-due"
REPAIR_OVERDUE: Final = "repair-overdue"
WORK_OVERDUE: Final = "work-overdue"
RESERVATION_EXPIRING: Final = "reservation-expiring"
NOT_COLLECTED: Final = "not-collected"
NOT_ARRIVED: Final = "not-arrived"
NOT_SEEN: Final = "not-seen"
LONG_STAY: Final = "long-stay"
MARKING_TO_REPAINT: Final = "marking-to-repaint"
WEIGHING_DUE: Final = "weighing-due"
PLATE_PACK_MISSING: Final = "plate-pack-missing"
CLAIM_NOTICE: Final = "claim-notice"
PROOF_OF_EXPORT: Final = "proof-of-export"
ORDER_SHORT: Final = "order-short"
BREACH: Final = "breach"

MANAGER: Final = "manager"
AHEAD_DAYS: Final = 90
"""How far ahead of an examination `owes_on` looks; who tells earlier looks that much further."""

_WEEK: Final = timedelta(days=7)


class Due(NamedTuple):
    """One thing that falls due: its kind and cause name it, `due_on` is the last good day."""

    kind: str
    cause: str
    due_on: date
    says: str


@dataclass(frozen=True, slots=True)
class Telling:
    """A reminder that a day asks for: to which role, and the day of the next one, if any."""

    step: int
    role: str
    next_on: date | None
    is_last: bool


def owed(record: Record, reading: MonthReading, zone: tzinfo = UTC) -> Iterator[Due]:
    """Give everything about the unit that falls due, however far ahead.

    Args:
        record: Of the unit. One that turned out to be another owes nothing.
        reading: How the month of an examination is read.
        zone: Of the depot: its days are reckoned in it.
    """
    # Asked of every record that is written: what is not there is not gone into.
    presence = record.presence
    if record.merged_into is not None:
        return
    if record.claims:
        yield from _claims(record)
    if presence == "disposed":
        return
    if presence == "away":
        yield from _proof_of_export(record, zone)
        return
    if record.next_examination is not None:
        yield from _examination(record, reading)
    if record.damages:
        yield from _repairs(record)
    if record.orders:
        yield from _work(record)
    if record.reservation is not None:
        yield from _reservation(record, zone)
    yield from _awaited(record, zone) if presence == "expected" else _standing(record, zone)


def _standing(record: Record, zone: tzinfo) -> Iterator[Due]:
    """What only a unit in the depot owes."""
    if record.release is not None:
        yield from _collection(record.release, zone)
    if record.repaint:
        yield from _paint(record, zone)
    if record.to_weigh:
        yield from _weighing(record, zone)
    if record.sale is not None:
        yield from _plate_pack(record, record.sale, zone)
    elif record.arrived_at is not None and record.purpose not in NOT_OURS:
        since = _day(record.arrived_at, zone)
        says = f"It has stood here unsold since {since}."
        yield Due(LONG_STAY, record.arrived_at, since + _grace(LONG_STAY), says)


def owes_on(record: Record) -> date | None:
    """Return the first day on which anything of the record may be told; None if nothing is owed.

    Follows from the record alone, whatever the settings: months are read strictly, examinations
    looked at `AHEAD_DAYS` ahead, and days reckoned in UTC, a day from those of any zone.
    """
    first, told = None, _first_told()
    for one in owed(record, MonthReading.STRICT):
        day = one.due_on + told[one.kind]
        if first is None or day < first:
            first = day
    return first


@cache
def _first_told() -> dict[str, timedelta]:
    return {
        kind: timedelta(days=schedule.days((AHEAD_DAYS,) if kind == EXAMINATION_DUE else ())[0])
        for kind, schedule in schedules().items()
    }


def tell(
    schedule: Schedule, ahead: tuple[int, ...], due_on: date, told: int, today: date
) -> Telling | None:
    """Return the reminder that `today` asks for after `told` of them; None when none is due yet.

    Reminders are counted: one missed on its day is made up on the next, several by one. What is
    found only when all its days have passed goes to its owner first, and is escalated a week later.
    """
    days = schedule.days(ahead)
    passed = sum(due_on + timedelta(days=day) <= today for day in days)
    escalates = schedule.escalates_on is not None
    if passed == 0:
        return None
    if escalates and told == 0 and passed == len(days):
        return Telling(passed - 1, schedule.role, today + _WEEK, is_last=False)
    is_last = escalates and told < passed == len(days)
    next_on = due_on + timedelta(days=days[passed]) if passed < len(days) else None
    return Telling(passed, MANAGER if is_last else schedule.role, next_on, is_last)


def unseen_cause(check: str, begun_at: str) -> str:
    """Return the cause of an alert about a unit that a stock check, begun then, did not find."""
    return f"{begun_at}/{check}"


def is_still_unseen(record: Record, cause: str, depot: str) -> bool:
    """Say whether a unit that a stock check at `depot` did not find has not been seen since."""
    begun_at = cause.partition("/")[0]
    here = record.presence == "in-depot" and record.depot == depot and record.merged_into is None
    return here and (record.last_seen_at or "") < begun_at


def needs_examination(record: Record) -> bool:
    """Say whether an examination is owed: for export, transport or hire, or for others' units.

    The dates of other stock are looked up when somebody asks for them.
    """
    promised = record.sale or record.reservation
    if promised is not None:
        return promised.intended_use != "storage"
    return record.purpose in NOT_OURS or record.purpose == "hire"


def _examination(record: Record, reading: MonthReading) -> Iterator[Due]:
    month = record.next_examination
    if month is None or month == "programme" or not needs_examination(record):
        return
    due_on = last_valid_day(Month.parse(month), reading)
    says = f"Safety examination is due: the plate says {month}, so it is valid to {due_on}."
    yield Due(EXAMINATION_DUE, month, due_on, says)


def _repairs(record: Record) -> Iterator[Due]:
    for damage in record.damages:
        if damage.mend_by is not None:
            says = f"{damage.kind} on {damage.component} was to be mended by {damage.mend_by}."
            yield Due(REPAIR_OVERDUE, damage.id, date.fromisoformat(damage.mend_by), says)


def _work(record: Record) -> Iterator[Due]:
    for order in record.orders:
        if order.due_on is not None:
            work = ", ".join(f"{count} x {work}" for work, count in order.left().items())
            says = f"Work ordered was due on {order.due_on}: {work}."
            yield Due(WORK_OVERDUE, order.id, date.fromisoformat(order.due_on), says)


def _reservation(record: Record, zone: tzinfo) -> Iterator[Due]:
    if record.reservation is not None:
        until = _day(record.reservation.until, zone)
        says = f"Its reservation ends on {until}. Then it is free to be sold to anybody."
        yield Due(RESERVATION_EXPIRING, record.reservation.id, until, says)


def _collection(release: LiveRelease, zone: tzinfo) -> Iterator[Due]:
    since = _day(release.released_at, zone)
    due_on = since + _grace(NOT_COLLECTED)
    says = f"It was released on {since} and nobody has collected it."
    if release.expires_at is not None:
        ends = _day(release.expires_at, zone)
        due_on = min(due_on, ends)
        says += f" Its collection reference ends on {ends}."
    yield Due(NOT_COLLECTED, release.id, due_on, says)


def _awaited(record: Record, zone: tzinfo) -> Iterator[Due]:
    """A unit on its way between depots of ours is awaited from its leaving, whatever was said."""
    if record.whereabouts == "in transit" and record.left_at is not None:
        left_on = _day(record.left_at, zone)
        says = f"It left for here on {left_on} and has not arrived."
        yield Due(NOT_ARRIVED, record.left_at, left_on + _grace(NOT_ARRIVED), says)
    elif record.expected_on is not None:
        says = f"It was expected on {record.expected_on} and has not arrived."
        day = date.fromisoformat(record.expected_on)
        yield Due(NOT_ARRIVED, record.expected_on, day + _grace(NOT_ARRIVED), says)


def _paint(record: Record, zone: tzinfo) -> Iterator[Due]:
    if record.repaint and record.repaint_since is not None:
        since = _day(record.repaint_since, zone)
        for what in record.repaint:
            says = f"Its {what} on the doors must be painted anew, since {since}."
            cause = f"{what}/{record.repaint_since}"
            yield Due(MARKING_TO_REPAINT, cause, since + _grace(MARKING_TO_REPAINT), says)


def _weighing(record: Record, zone: tzinfo) -> Iterator[Due]:
    if record.to_weigh_since is not None:
        since = _day(record.to_weigh_since, zone)
        says = f"Its shell was cut on {since}, and nobody has weighed it since."
        yield Due(WEIGHING_DUE, record.to_weigh_since, since + _grace(WEIGHING_DUE), says)


def _plate_pack(record: Record, sale: LiveSale, zone: tzinfo) -> Iterator[Due]:
    if sale.intended_use == "export" and (lacks := lacks_of_pack(record)):
        since = _day(sale.sold_at, zone)
        says = f"It was sold for export on {since}, and its plate pack lacks {', '.join(lacks)}."
        yield Due(PLATE_PACK_MISSING, sale.id, since + _grace(PLATE_PACK_MISSING), says)


def _claims(record: Record) -> Iterator[Due]:
    for claim in record.claims:
        if claim.notice_by is not None and claim.notice_given_on is None:
            whom = claim.responsible or "whoever brought it"
            says = f"{whom} must have notice by {claim.notice_by} of {claim.says} found on arrival."
            yield Due(CLAIM_NOTICE, claim.id, date.fromisoformat(claim.notice_by), says)


def _proof_of_export(record: Record, zone: tzinfo) -> Iterator[Due]:
    sale = record.sale
    if sale is None or sale.intended_use != "export" or record.left_at is None:
        return
    if sale.proof_of_export is None:
        left_on = _day(record.left_at, zone)
        says = f"It left for export on {left_on}, and nobody has sent the proof of export."
        yield Due(PROOF_OF_EXPORT, sale.id, left_on + _grace(PROOF_OF_EXPORT), says)


@cache
def _grace(kind: str) -> timedelta:
    return timedelta(days=schedules()[kind].grace_days)


def _day(moment: str, zone: tzinfo) -> date:
    # Moments stand in records in UTC, so that there the day is written at their beginning.
    if zone is UTC:
        return date.fromisoformat(moment[:10])
    return datetime.fromisoformat(moment).astimezone(zone).date()
