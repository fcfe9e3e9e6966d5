"""What an operator measures, read cheaply: no statement here reads a table that grows for ever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from tracker.store import outbox
from tracker.store.tables import DEPOTS, INTAKE, OUTBOX, QUESTIONS, ROUNDS, UNREADABLE


@dataclass(frozen=True, slots=True)
class Measures:
    """The state of the database at one moment, and how many rows it has ever taken in."""

    intake: Mapping[str, int]
    """Events by `waiting` and `held`."""
    oldest_waiting: datetime | None
    letters: Mapping[str, int]
    """Those that were not sent, by state."""
    oldest_letter: datetime | None
    questions: int
    unreadable: int
    last_round: datetime | None
    """Of the depot whose last one lies furthest back."""
    inserted: Mapping[str, int]
    """Rows ever inserted into `intake`, `receipts` and `history`, as PostgreSQL counts them."""


_COUNTED = ("intake", "receipts", "history")


def read(connection: Connection) -> Measures:
    """Return the measures; each is of the moment at which it is read."""
    return Measures(
        intake={"waiting": 0, "held": 0} | _intake(connection),
        oldest_waiting=_oldest_waiting(connection),
        letters=_letters(connection),
        oldest_letter=_oldest_letter(connection),
        questions=connection.execute(select(func.count()).select_from(QUESTIONS)).scalar_one(),
        unreadable=connection.execute(select(func.count()).select_from(UNREADABLE)).scalar_one(),
        last_round=_last_round(connection),
        inserted=_inserted(connection),
    )


def _intake(connection: Connection) -> dict[str, int]:
    found = connection.execute(select(INTAKE.c.state, func.count()).group_by(INTAKE.c.state))
    return dict(found.all())


def _letters(connection: Connection) -> dict[str, int]:
    found = connection.execute(
        select(OUTBOX.c.state, func.count())
        .where(OUTBOX.c.state.in_((outbox.WAITING, *outbox.STUCK)))
        .group_by(OUTBOX.c.state)
    )
    return dict(found.all())


def _oldest_waiting(connection: Connection) -> datetime | None:
    where = INTAKE.c.state == "waiting"
    return connection.execute(select(func.min(INTAKE.c.received_at)).where(where)).scalar()


def _oldest_letter(connection: Connection) -> datetime | None:
    where = OUTBOX.c.state == "waiting"
    return connection.execute(select(func.min(OUTBOX.c.created_at)).where(where)).scalar()


def _last_round(connection: Connection) -> datetime | None:
    """Return when the depot whose last round lies furthest back had it: one may fail alone."""
    last = (
        select(ROUNDS.c.made_at)
        .where(ROUNDS.c.depot == DEPOTS.c.code)
        .order_by(ROUNDS.c.day.desc())
        .limit(1)
        .scalar_subquery()
    )
    behind = connection.execute(select(func.min(last)).select_from(DEPOTS)).scalar()
    return behind or connection.execute(select(func.max(ROUNDS.c.made_at))).scalar()


def _inserted(connection: Connection) -> dict[str, int]:
    """Counting the rows themselves would read a table that grows for ever, at every scrape."""
    found = connection.exec_driver_sql(
        "SELECT relname, n_tup_ins FROM pg_stat_user_tables WHERE relname = ANY(%s)",
        (list(_COUNTED),),
    )
    return dict.fromkeys(_COUNTED, 0) | dict(found.all())
