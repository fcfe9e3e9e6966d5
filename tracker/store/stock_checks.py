"""Stock checks: where and when somebody goes through the stacks, and what they see or miss."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select, update
from sqlalchemy.dialects.postgresql import insert

from tracker.store import statements
from tracker.store.tables import STOCK_CHECKS

_AT_ONCE = 2000


@dataclass(frozen=True, slots=True)
class StockCheck:
    """One stock check of a depot; `told_on` is the day of the round that told what it missed."""

    id: str
    depot: str
    begun_by: str
    begun_at: datetime
    finished_at: datetime | None = None
    told_on: date | None = None

    @property
    def begun_text(self) -> str:
        """When it began, as moments stand in records."""
        return self.begun_at.astimezone(UTC).isoformat(timespec="microseconds")


def begin(connection: Connection, check: StockCheck) -> bool:
    """Note that a check has begun; False when its id is taken."""
    values = {name: getattr(check, name) for name in StockCheck.__slots__}
    found = connection.execute(
        insert(STOCK_CHECKS)
        .values(values)
        .on_conflict_do_nothing(constraint="pk_stock_checks")
        .returning(STOCK_CHECKS.c.id)
    )
    return found.first() is not None


def finish(connection: Connection, check_id: str, now: datetime) -> None:
    """Note that a check is finished; one that was stays as it is."""
    connection.execute(
        update(STOCK_CHECKS)
        .where(STOCK_CHECKS.c.id == check_id, STOCK_CHECKS.c.finished_at.is_(None))
        .values(finished_at=now)
    )


def find(connection: Connection, check_id: str) -> StockCheck | None:
    """Return a check by its id."""
    row = connection.execute(
        select(STOCK_CHECKS).where(STOCK_CHECKS.c.id == check_id)
    ).one_or_none()
    return None if row is None else StockCheck(*row)


def list_all(connection: Connection, among: Collection[str] | None = None) -> list[StockCheck]:
    """Return the checks of all depots, or of some, the last begun first."""
    query = select(STOCK_CHECKS).order_by(STOCK_CHECKS.c.begun_at.desc(), STOCK_CHECKS.c.id)
    if among is not None:
        query = query.where(STOCK_CHECKS.c.depot.in_(list(among)))
    return [StockCheck(*row) for row in connection.execute(query)]


def list_to_tell(connection: Connection, depot: str) -> list[StockCheck]:
    """Return the finished checks of a depot of which no round has told yet."""
    query = select(STOCK_CHECKS).where(
        STOCK_CHECKS.c.depot == depot,
        STOCK_CHECKS.c.finished_at.is_not(None),
        STOCK_CHECKS.c.told_on.is_(None),
    )
    found = connection.execute(query.order_by(STOCK_CHECKS.c.begun_at, STOCK_CHECKS.c.id))
    return [StockCheck(*row) for row in found]


def mark_told(connection: Connection, check_id: str, day: date) -> None:
    """Note the day of the round that told what a check missed."""
    connection.execute(
        update(STOCK_CHECKS).where(STOCK_CHECKS.c.id == check_id).values(told_on=day)
    )


def forget(connection: Connection, value: str, instead: str) -> bool:
    """Write `instead` for the name of who began checks; return whether it stood anywhere."""
    found = connection.execute(
        update(STOCK_CHECKS).where(STOCK_CHECKS.c.begun_by == value).values(begun_by=instead)
    )
    return found.rowcount > 0


def every_unseen(connection: Connection, check: StockCheck) -> Iterator[Any]:
    """Walk the units in the depot that nobody has seen since the check began, by unit id."""
    return _every(connection, "list_unseen", depot=check.depot, since=check.begun_text)


def every_seen(connection: Connection, check: StockCheck) -> Iterator[Any]:
    """Walk the units in the depot that the check saw, by unit id."""
    return _every(connection, "list_seen_by_check", depot=check.depot, check=check.id)


def _every(connection: Connection, name: str, **values: str) -> Iterator[Any]:
    after = UUID(int=0)
    while rows := statements.rows(connection, name, after=after, size=_AT_ONCE, **values):
        yield from rows
        after = rows[-1].unit_id
