"""Mails to go. Written in the transaction of what they tell; sent by another process.

A row's id is made of what it says, so that saying it again finds it said; the Message-ID is made
of the row's id, so that a mail that had to be sent twice is the same mail.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID, uuid5

from sqlalchemy import Connection, Row, case, func, select, tuple_, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store.tables import CONTACTS, OUTBOX

ON_DUTY: Final = "on duty"
"""Begins the role of letters to whoever is on duty, which go as one mail per batch and depot."""
WAITING: Final = "waiting"
NOBODY: Final = "nobody"
GIVEN_UP: Final = "given-up"
STUCK: Final = (NOBODY, GIVEN_UP)
"""Letters in these states do not go by themselves."""
_LETTERS: Final = UUID("d0b4a6a4-55a1-5c7b-8b57-6d5b4a1f3c20")


_TOGETHER: Final = 1886547833
"""The advisory lock of whoever sends several letters as one mail."""


@dataclass(frozen=True, slots=True)
class Letter:
    """One mail to a person, or to everybody of a role at a depot.

    Holds no address: these are asked for last.
    """

    id: UUID
    depot: str
    role: str
    subject: str
    body: dict[str, Any]
    """What the papers make text and HTML of: `opening`, `lines`, `closing`. `dues`, where there
    are any, become a calendar file. A `path`, of the whole or of a line, is a page of ours."""
    person: bytes | None = None
    """Of whom `person_of` gives this; None for everybody of the role."""


def letter_id(*parts: str) -> UUID:
    """Return the id of what is said by its parts."""
    return uuid5(_LETTERS, "\x1f".join(parts))


def post(connection: Connection, letters: Iterable[Letter], now: datetime) -> None:
    """Put letters into the outbox; one that is there already is not put in again."""
    rows = [
        {
            "id": letter.id,
            "depot": letter.depot,
            "role": letter.role,
            "subject": letter.subject,
            "body": letter.body,
            "person": letter.person,
            "created_at": now,
            "not_before": now,
        }
        for letter in letters
    ]
    if rows:
        connection.execute(insert(OUTBOX).on_conflict_do_nothing(constraint="pk_outbox"), rows)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A letter taken up for sending, with the attempts made before."""

    letter: Letter
    attempts: int
    created_at: datetime


def try_alone(connection: Connection) -> bool:
    """Try to be the only one who sends what goes as one mail, until the transaction ends.

    Two who shared the letters of one mail would send it in parts, and perhaps again in other parts.
    """
    asked = connection.execute(select(func.pg_try_advisory_xact_lock(_TOGETHER)))
    return bool(asked.scalar_one())


def take_next(
    connection: Connection, now: datetime, *, without: Collection[str] = ()
) -> Waiting | None:
    """Lock and return one letter that may go now, to none of the roles named `without`.

    None when there is none free.
    """
    row = connection.execute(
        select(OUTBOX)
        .where(
            OUTBOX.c.state == "waiting",
            OUTBOX.c.not_before <= now,
            OUTBOX.c.role.not_in(list(without)),
        )
        .order_by(OUTBOX.c.not_before, OUTBOX.c.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    ).one_or_none()
    if row is None:
        return None
    return _waiting(row)


def _waiting(row: Row[Any]) -> Waiting:
    letter = Letter(row.id, row.depot, row.role, row.subject, row.body, row.person)
    return Waiting(letter, row.attempts, row.created_at)


def take_beside(connection: Connection, first: Waiting, now: datetime) -> list[Waiting]:
    """Lock and return the other letters of the same depot, role and moment that may go now."""
    letter = first.letter
    found = connection.execute(
        select(OUTBOX)
        .where(
            OUTBOX.c.state == "waiting",
            OUTBOX.c.not_before <= now,
            OUTBOX.c.created_at == first.created_at,
            OUTBOX.c.depot == letter.depot,
            OUTBOX.c.role == letter.role,
            OUTBOX.c.id != letter.id,
        )
        .order_by(OUTBOX.c.id)
        .with_for_update(skip_locked=True)
    )
    return [_waiting(row) for row in found]


def allow_pause(connection: Connection, pause_s: int) -> None:
    """Let this transaction wait for somebody else that long, whatever the role's limit."""
    limit = "idle_in_transaction_session_timeout"
    connection.execute(select(func.set_config(limit, f"{pause_s}s", True)))  # noqa: FBT003 - SQL's


def addresses(connection: Connection, depot: str, role: str) -> list[str]:
    """Return where mail for a role at a depot goes; `*` stands for every depot."""
    found = connection.execute(
        select(CONTACTS.c.address)
        .where(CONTACTS.c.depot.in_((depot, "*")), CONTACTS.c.role == role)
        .distinct()
        .order_by(CONTACTS.c.address)
    )
    return list(found.scalars())


def contacts_at(connection: Connection, depot: str) -> list[tuple[str, str]]:
    """Return address and role of all who get mail of a depot; `*` stands for every depot."""
    found = connection.execute(
        select(CONTACTS.c.address, CONTACTS.c.role)
        .where(CONTACTS.c.depot.in_((depot, "*")))
        .distinct()
        .order_by(CONTACTS.c.address, CONTACTS.c.role)
    )
    return [(row.address, row.role) for row in found]


def person_of(key: bytes, address: str) -> bytes:
    """Return what stands for an address in the outbox, whatever capitals it is written in."""
    return hmac.digest(key, b"person\x00" + address.casefold().encode(), hashlib.sha256)


def mark_sent(connection: Connection, letter_id: UUID, now: datetime) -> None:
    """Note that the mail server took the letter, and keep no more of what it said than that."""
    _set(connection, letter_id, state="sent", sent_at=now, error=None, body={})


def mark_nobody(connection: Connection, letter_id: UUID) -> None:
    """Note that no address is known for the letter; it stays readable."""
    _set(connection, letter_id, state="nobody", error="no contact for this role at this depot")


def mark_failed(
    connection: Connection, waiting: Waiting, error: str, now: datetime, *, most: int
) -> None:
    """Note a failure: the letter waits longer each time, and is given up after `most` tries."""
    attempts = waiting.attempts + 1
    _set(
        connection,
        waiting.letter.id,
        attempts=attempts,
        error=error[:1000],
        state="given-up" if attempts >= most else "waiting",
        not_before=now + timedelta(minutes=min(2**attempts, 240)),
    )


def list_in(connection: Connection, states: Collection[str]) -> list[dict[str, Any]]:
    """Return the letters in any of the states, the oldest first, without what they say."""
    found = connection.execute(
        select(
            OUTBOX.c.id,
            OUTBOX.c.created_at,
            OUTBOX.c.state,
            OUTBOX.c.depot,
            OUTBOX.c.role,
            OUTBOX.c.subject,
            OUTBOX.c.attempts,
            OUTBOX.c.not_before,
            OUTBOX.c.error,
        )
        .where(OUTBOX.c.state.in_(list(states)))
        .order_by(OUTBOX.c.created_at, OUTBOX.c.id)
    )
    return [dict(row._mapping) for row in found]


def let_go_again(connection: Connection, letter_ids: Collection[UUID], now: datetime) -> None:
    """Let letters wait as if they had never been tried."""
    again = {"state": WAITING, "attempts": 0, "not_before": now, "error": None}
    connection.execute(update(OUTBOX).where(OUTBOX.c.id.in_(list(letter_ids))).values(**again))


def mark_dropped(connection: Connection, letter_ids: Collection[UUID]) -> None:
    """Note that letters shall never go; they stay readable."""
    connection.execute(
        update(OUTBOX).where(OUTBOX.c.id.in_(list(letter_ids))).values(state="dropped")
    )


def count_mails_by_state(connection: Connection, since: datetime) -> dict[str, int]:
    """Return how many mails since a moment are in each state; what goes as one counts as one."""
    at_once = OUTBOX.c.role.startswith(ON_DUTY)
    mail = tuple_(OUTBOX.c.created_at, OUTBOX.c.depot, OUTBOX.c.role, case((~at_once, OUTBOX.c.id)))
    found = connection.execute(
        select(OUTBOX.c.state, func.count(mail.distinct()))
        .where(OUTBOX.c.created_at >= since)
        .group_by(OUTBOX.c.state)
    )
    return dict(found.all())


def _set(connection: Connection, letter_id: UUID, **values: Any) -> None:  # noqa: ANN401 - column values
    connection.execute(update(OUTBOX).where(OUTBOX.c.id == letter_id).values(**values))
