"""What cannot wait for the daily mail: breaches and new questions, told to whoever is on duty.

Each has a letter of its own in the outbox, named by what it is about, so that nothing is told
twice, whichever batch finds it again. What one batch found at one depot goes as one mail.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime, tzinfo
from typing import Any, Final
from urllib.parse import quote

from sqlalchemy import Connection

from schemas.records import Breach, Question, Record
from shared.moments import in_zone, moment_in
from tracker.store import duties, outbox
from tracker.store.outbox import Letter, letter_id

ON_DUTY: Final = outbox.ON_DUTY
"""Stands as the role of letters to whoever is on duty; to the manager where nobody is."""

ON_DUTY_AND_MANAGER: Final = f"{ON_DUTY}, manager"
"""Likewise, and to the manager besides: a breach is always the manager's to know."""

ROLES: Final = (ON_DUTY, ON_DUTY_AND_MANAGER)

MOST_LINES: Final = 60
"""In one mail; whoever has more to look at opens the page."""

_BREACH: Final = "It is recorded as it happened. Look at the unit's history, and act."
_QUESTION: Final = "Until it is answered, it holds what it must hold."


def breach_letter(record: Record, breach: Breach, depot: str, zone: tzinfo) -> Letter:
    """Return the letter about a breach that happened at a depot."""
    name = _name(record)
    line = _line(record, breach.says, breach.at, zone)
    return Letter(
        # Not of the unit: two that turn out to be one have not left twice.
        id=letter_id("breach", breach.event, breach.finding),
        depot=depot,
        role=ON_DUTY_AND_MANAGER,
        subject=f"Breach: {name}",
        body={
            "opening": f"Something happened to {name} that should not have happened.",
            "lines": [line],
            "closing": _BREACH,
            "path": "/questions",
        },
    )


def question_letter(record: Record, question: Question, zone: tzinfo) -> Letter:
    """Return the letter about a question that has opened."""
    name = _name(record)
    line = _line(record, question.asks, question.opened_at, zone)
    return Letter(
        id=letter_id("question", question.id),
        depot=record.depot or "",
        role=ON_DUTY,
        subject=f"Question: {name}",
        body={
            "opening": f"A report about {name} needs an answer.",
            "lines": [line | {"path": f"/questions/{question.id}"}],
            "closing": _QUESTION,
            "path": "/questions",
        },
    )


def together(letters: Sequence[Letter]) -> Letter:
    """Return one letter that says what several of a depot and a role say, by mark.

    It is named by the first of them, so that the same several are the same mail every time.
    """
    first = letters[0]
    if len(letters) == 1:
        return first
    lines = [line for letter in letters for line in letter.body["lines"]]
    lines.sort(key=lambda line: (line["mark"], line["on"]))
    closing = first.body["closing"]
    if len(lines) > MOST_LINES:
        closing += f" {len(lines) - MOST_LINES} more are not listed here; the page has them."
    what = "breaches" if first.role == ON_DUTY_AND_MANAGER else "questions"
    return replace(
        first,
        subject=f"{first.depot}: {len(lines)} {what}",
        body={
            "opening": f"At {first.depot} {len(lines)} {what} came up at once.",
            "lines": lines[:MOST_LINES],
            "closing": closing,
            "path": first.body["path"],
        },
    )


def recipients(connection: Connection, depot: str, role: str) -> list[str]:
    """Return where a letter for whoever is on duty goes: to the manager where nobody is."""
    on_duty = duties.addresses(connection, depot)
    managers = outbox.addresses(connection, depot, "manager")
    if role == ON_DUTY_AND_MANAGER:
        return _once([*on_duty, *managers])
    return _once(on_duty or managers)


def is_at_once(role: str) -> bool:
    """Say whether a letter is for whoever is on duty."""
    return role in ROLES


def _once(addresses: Collection[str]) -> list[str]:
    """Return each address once, whatever capitals it is written in."""
    return list({address.casefold(): address for address in addresses}.values())


def _name(record: Record) -> str:
    return record.mark or record.tag or record.unit_id


def _line(record: Record, says: str, at: str, zone: tzinfo) -> dict[str, Any]:
    address = quote(record.mark or record.unit_id, safe="")
    return {
        "mark": _name(record),
        "says": in_zone(says, zone, named=True),
        "on": moment_in(datetime.fromisoformat(at), zone, named=True),
        "path": f"/units/{address}",
    }
