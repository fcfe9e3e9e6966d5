"""The mails of a day's round: one per person and depot, with all that is theirs, by batch.

A person is a contact's address. The outbox holds no address, only a keyed digest of it: who that
is is asked for when the mail goes, so that whoever was taken off the list gets none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, tzinfo
from typing import Any, Final
from urllib.parse import quote

from sqlalchemy import Connection

from shared import marks
from shared.due_schedule import schedules
from shared.moments import in_zone
from tracker.judge.due import MANAGER, ORDER_SHORT
from tracker.papers.messages import is_address
from tracker.services.fix_root import FixedRoot
from tracker.store import outbox
from tracker.store.outbox import Letter, letter_id, person_of
from tracker.store.reminders import Reminder

MOST_LINES: Final = 200
"""Of one role in one mail; whoever has more to do looks at the screen."""

_LAST: Final = " This is the last reminder: nobody has seen to it."
_WITHOUT_BATCH: Final = "In no batch"


@dataclass(slots=True)
class _Share:
    """What one role is told of: the first due of it, and how much of each kind there is."""

    lines: list[tuple[Reminder, bool]] = field(default_factory=list)
    kinds: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class DayMail:
    """What a day's round tells of at one depot, by role. Its memory stays flat."""

    shares: dict[str, _Share] = field(default_factory=dict)

    def add(self, role: str, reminder: Reminder, *, is_last: bool) -> None:
        """Take in what a role is to be told of, the one due first first."""
        share = self.shares.setdefault(role, _Share())
        share.kinds[reminder.alert.kind] += 1
        if len(share.lines) < MOST_LINES:
            share.lines.append((reminder, is_last))


@dataclass(frozen=True, slots=True)
class DepotDay:
    """A day as it is at a depot, and the zone in which moments are told there."""

    depot: str
    today: date
    zone: tzinfo


def letters(
    connection: Connection, key: bytes, day: DepotDay, mail: DayMail, root: FixedRoot
) -> list[Letter]:
    """Return a letter to each person who has something to do, and to each role that nobody has."""
    made = []
    unheard = {*mail.shares}
    for address, roles in sorted(_people(connection, day.depot).items()):
        unheard -= roles
        if theirs := sorted(roles & mail.shares.keys()):
            told = _Told(day, root if MANAGER in roles else None)
            made.append(_letter(told, mail, theirs, person_of(key, address)))
    for role in sorted(unheard):
        told = _Told(day, root if role == MANAGER else None)
        made.append(_letter(told, mail, [role], None))
    return made


@dataclass(frozen=True, slots=True)
class _Told:
    """What all letters of a round say besides their lines; the root only to managers."""

    day: DepotDay
    root: FixedRoot | None


def _people(connection: Connection, depot: str) -> dict[str, set[str]]:
    """Return the roles of each address at the depot; the same address in capitals is the same."""
    people: dict[str, set[str]] = {}
    for address, role in outbox.contacts_at(connection, depot):
        if is_address(address):
            people.setdefault(address.casefold(), set()).add(role)
    return people


def _letter(told: _Told, mail: DayMail, roles: Sequence[str], person: bytes | None) -> Letter:
    shares = [mail.shares[role] for role in roles]
    kinds = sum((share.kinds for share in shares), Counter[str]())
    lines = [line for share in shares for line in share.lines]
    lines.sort(key=_place)
    who = person.hex() if person is not None else roles[0]
    depot, today = told.day.depot, told.day.today
    return Letter(
        id=letter_id("round", depot, who, today.isoformat()),
        depot=depot,
        role=", ".join(roles),
        subject=f"{depot}, {today}: {_headline(kinds)}",
        body={
            "opening": f"This is due at {depot} on {today}.",
            "lines": [*_lines(lines, told.day.zone)],
            "closing": _closing(told, kinds.total() - len(lines)),
            # A calendar is for days to come; what is late already, the lines say.
            "dues": [_due(one) for one, _ in lines if one.alert.due_on >= today],
            "path": f"/alerts?depot={quote(depot, safe='')}",
        },
        person=person,
    )


def _place(line: tuple[Reminder, bool]) -> tuple[bool, str, date, str, str]:
    reminder, _ = line
    alert = reminder.alert
    batch = reminder.batch
    return (batch is None, batch or "", alert.due_on, reminder.mark, alert.kind)


def _lines(lines: Collection[tuple[Reminder, bool]], zone: tzinfo) -> Iterator[dict[str, Any]]:
    grouped = any(reminder.batch is not None for reminder, _ in lines)
    for reminder, is_last in lines:
        batch = reminder.batch
        line = {
            "mark": _name(reminder),
            "says": in_zone(reminder.alert.says, zone, named=True) + (_LAST if is_last else ""),
            "on": reminder.alert.due_on.isoformat(),
            "path": _path(reminder),
        }
        if grouped:
            line["group"] = _WITHOUT_BATCH if batch is None else f"Batch {batch}"
        yield line


def _due(reminder: Reminder) -> dict[str, Any]:
    alert = reminder.alert
    return {
        "unit_id": str(alert.unit_id),
        "mark": _name(reminder),
        "depot": alert.depot,
        "kind": alert.kind,
        "cause": alert.cause,
        "due_on": alert.due_on.isoformat(),
        "says": alert.says,
    }


def _path(reminder: Reminder) -> str:
    if reminder.alert.kind == ORDER_SHORT:
        return "/orders"
    name = marks.find_compact(reminder.mark) or reminder.alert.unit_id
    return f"/units/{name}"


def _name(reminder: Reminder) -> str:
    return reminder.mark or str(reminder.alert.unit_id)


def _headline(kinds: Counter[str]) -> str:
    return ", ".join(
        f"{schedule.words} {kinds[kind]}" for kind, schedule in schedules().items() if kinds[kind]
    )


def _closing(told: _Told, left_out: int) -> str:
    says = []
    if left_out:
        says.append(
            f"{left_out} more are not listed here; the page has them all, and so has "
            f"hardstand alerts --depot {told.day.depot}."
        )
    says.append(
        "Hardstand reminds once at each step, and stops when the cause is gone, when somebody "
        "acknowledges it, or after the last reminder to the manager."
    )
    if told.root is not None:
        moment = told.root.moment.astimezone(UTC).isoformat(timespec="microseconds")
        root = told.root.root.hex()
        says.append(
            f"Root of all {told.root.streams} histories as of {moment}: {root}\n"
            f"hardstand verify --root {root} --at {moment} proves it again on any day."
        )
    return "\n\n".join(says)
