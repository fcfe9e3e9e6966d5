"""Reads for pages, API and command line. They never lock, and find by key, never by offset."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Select, func, or_, select, tuple_

from tracker.store.tables import MARK_OR_NONE, QUESTIONS, RECORDS

_LISTED = (
    RECORDS.c.unit_id,
    RECORDS.c.mark,
    RECORDS.c.mark_state,
    RECORDS.c.tag,
    RECORDS.c.presence,
    RECORDS.c.depot,
    RECORDS.c.slot,
    RECORDS.c.size_type,
    RECORDS.c.condition,
    RECORDS.c.stands,
    RECORDS.c.questions,
    RECORDS.c.breaches,
    RECORDS.c.examination_on,
    RECORDS.c.mend_by,
)


@dataclass(frozen=True, slots=True)
class StockFilter:
    """What stock to list; what is None filters nothing."""

    depot: str | None = None
    among: Collection[str] | None = None
    """Depots that whoever asks may see; None for all."""
    presence: str | None = None
    size_type: str | None = None
    condition: str | None = None
    stands: str | None = None
    mark_state: str | None = None
    with_questions: bool | None = None
    examination_before: date | None = None
    mark_begins: str | None = None


@dataclass(frozen=True, slots=True)
class StockKey:
    """Where a page of stock ended: the next begins after it."""

    mark: str
    unit_id: UUID


def list_stock(
    connection: Connection, wanted: StockFilter, *, after: StockKey | None = None, size: int = 100
) -> list[dict[str, Any]]:
    """Return up to `size` units by mark, after the key of the page before."""
    mark = MARK_OR_NONE
    query = select(*_LISTED).where(_is_somebody(), *_conditions(wanted))
    if after is not None:
        query = query.where(tuple_(mark, RECORDS.c.unit_id) > tuple_(after.mark, after.unit_id))
    query = query.order_by(mark, RECORDS.c.unit_id).limit(size)
    return [dict(row) for row in connection.execute(query).mappings()]


def every_unit(connection: Connection, wanted: StockFilter) -> Iterator[dict[str, Any]]:
    """Walk all units that a filter lets through, page by page."""
    after: StockKey | None = None
    while page := list_stock(connection, wanted, after=after, size=1000):
        yield from page
        after = StockKey(page[-1]["mark"] or "", page[-1]["unit_id"])


def count_stock(connection: Connection, *by: str) -> list[dict[str, Any]]:
    """Return how many units there are by the columns named, most first."""
    columns = [RECORDS.c[name] for name in by]
    query: Select[Any] = (
        select(*columns, func.count().label("units"))
        .where(_is_somebody())
        .group_by(*columns)
        .order_by(func.count().desc(), *columns)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def list_questions(
    connection: Connection,
    depot: str | None = None,
    size: int = 500,
    *,
    among: Collection[str] | None = None,
) -> list[dict[str, Any]]:
    """Return open questions with the mark of their unit, the oldest first.

    `among` limits them to the depots that whoever asks may see.
    """
    query = (
        select(
            QUESTIONS.c.unit_id, RECORDS.c.mark, RECORDS.c.tag, QUESTIONS.c.depot, QUESTIONS.c.body
        )
        .join(RECORDS, RECORDS.c.unit_id == QUESTIONS.c.unit_id)
        .order_by(QUESTIONS.c.opened_at, QUESTIONS.c.id)
        .limit(size)
    )
    if depot is not None:
        query = query.where(QUESTIONS.c.depot == depot)
    if among is not None:
        query = query.where(QUESTIONS.c.depot.in_(list(among)))
    return [
        {"unit_id": row.unit_id, "mark": row.mark, "tag": row.tag, "depot": row.depot, **row.body}
        for row in connection.execute(query)
    ]


def _is_somebody() -> ColumnElement[bool]:
    """A unit that turned out to be another, or lost all its events, is nobody in the stock."""
    named = or_(RECORDS.c.mark.is_not(None), RECORDS.c.tag.is_not(None))
    return named & RECORDS.c.merged_into.is_(None)


def _conditions(wanted: StockFilter) -> list[ColumnElement[bool]]:
    equal = {
        RECORDS.c.depot: wanted.depot,
        RECORDS.c.presence: wanted.presence,
        RECORDS.c.size_type: wanted.size_type,
        RECORDS.c.condition: wanted.condition,
        RECORDS.c.stands: wanted.stands,
        RECORDS.c.mark_state: wanted.mark_state,
    }
    conditions = [column == value for column, value in equal.items() if value is not None]
    if wanted.among is not None:
        conditions.append(RECORDS.c.depot.in_(list(wanted.among)))
    if wanted.with_questions is not None:
        has = RECORDS.c.questions > 0
        conditions.append(has if wanted.with_questions else ~has)
    if wanted.examination_before is not None:
        conditions.append(RECORDS.c.examination_on < wanted.examination_before)
    if wanted.mark_begins is not None:
        conditions.append(RECORDS.c.mark.startswith(wanted.mark_begins, autoescape=True))
    return conditions
