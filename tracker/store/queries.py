"""Reads for pages, API and command line. They never lock, and find by key, never by offset."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Row, Select, case, func, or_, select, tuple_

from tracker.store.tables import MARK_BACKWARDS, MARK_OR_NONE, QUESTIONS, RECORDS

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
    RECORDS.c.colour,
    RECORDS.c.provenance,
    RECORDS.c.manufactured_on,
    RECORDS.c.arrived_at,
    RECORDS.c.fittings,
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
    lengths: Collection[str] | None = None
    """First characters of size-type codes, any of which will do."""
    heights: Collection[str] | None = None
    """Second characters, likewise."""
    types: Collection[str] | None = None
    """Third characters, likewise."""
    condition: str | None = None
    colour: str | None = None
    provenance: str | None = None
    fittings: Collection[str] = ()
    """What must all be fitted, each by its name."""
    made_from: date | None = None
    made_until: date | None = None
    stands: str | None = None
    at: datetime | None = None
    """The moment by which a reservation that has ended is one no more; None takes it as it is."""
    mark_state: str | None = None
    with_questions: bool | None = None
    examination_before: date | None = None
    examination_from: date | None = None
    """Those under an examination programme meet every such day."""
    mark_begins: str | None = None
    digits: str | None = None
    """The last digits of the mark, the check digit among them or left out."""
    owes: bool = False
    """Only those that owe something, such as a proof of export, however far ahead."""


@dataclass(frozen=True, slots=True)
class StockKey:
    """Where a page of stock ended: the next begins after it."""

    mark: str
    unit_id: UUID


@dataclass(frozen=True, slots=True)
class QuestionKey:
    """Where a page of questions ended: the next begins after it."""

    opened_at: datetime
    id: UUID


def list_stock(
    connection: Connection, wanted: StockFilter, *, after: StockKey | None = None, size: int = 100
) -> list[dict[str, Any]]:
    """Return up to `size` units by mark, after the key of the page before."""
    mark = MARK_OR_NONE
    listed = [_stands(wanted) if column is RECORDS.c.stands else column for column in _LISTED]
    query = select(*listed).where(_is_somebody(), *_conditions(wanted))
    if after is not None:
        query = query.where(tuple_(mark, RECORDS.c.unit_id) > tuple_(after.mark, after.unit_id))
    query = query.order_by(mark, RECORDS.c.unit_id).limit(size)
    return [
        {**row, "fittings": row["fittings"].split()} for row in connection.execute(query).mappings()
    ]


def every_unit(
    read_page: Callable[[StockKey | None, int], Sequence[dict[str, Any]]], size: int = 1000
) -> Iterator[dict[str, Any]]:
    """Walk all units, page by page, as `read_page` gives so many after the key of the page before.

    Whether all pages are of one transaction is for `read_page` to say.
    """
    after: StockKey | None = None
    while page := read_page(after, size):
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
    after: QuestionKey | None = None,
) -> list[dict[str, Any]]:
    """Return open questions with the mark of their unit, the oldest first.

    `among` limits them to the depots that whoever asks may see.
    """
    place = tuple_(QUESTIONS.c.opened_at, QUESTIONS.c.id)
    query = _questions().order_by(QUESTIONS.c.opened_at, QUESTIONS.c.id).limit(size)
    if depot is not None:
        query = query.where(QUESTIONS.c.depot == depot)
    if among is not None:
        query = query.where(QUESTIONS.c.depot.in_(list(among)))
    if after is not None:
        query = query.where(place > tuple_(after.opened_at, after.id))
    return [_question(row) for row in connection.execute(query)]


def find_question(connection: Connection, question_id: UUID) -> dict[str, Any] | None:
    """Return an open question as they are listed; None when it is not open."""
    row = connection.execute(_questions().where(QUESTIONS.c.id == question_id)).one_or_none()
    return None if row is None else _question(row)


def _questions() -> Select[Any]:
    return select(
        QUESTIONS.c.unit_id, RECORDS.c.mark, RECORDS.c.tag, QUESTIONS.c.depot, QUESTIONS.c.body
    ).join(RECORDS, RECORDS.c.unit_id == QUESTIONS.c.unit_id)


def _question(row: Row[Any]) -> dict[str, Any]:
    return {
        "unit_id": row.unit_id,
        "mark": row.mark,
        "tag": row.tag,
        "depot": row.depot,
        **row.body,
    }


def _is_somebody() -> ColumnElement[bool]:
    """A unit that turned out to be another, or lost all its events, is nobody in the stock."""
    named = or_(RECORDS.c.mark.is_not(None), RECORDS.c.tag.is_not(None))
    return named & RECORDS.c.merged_into.is_(None)


def _conditions(wanted: StockFilter) -> list[ColumnElement[bool]]:
    """Return what a unit must meet; the planner finds an index for what is selective enough."""
    return [*_equalities(wanted), *_of_size(wanted), *_of_days(wanted), *_others(wanted)]


def _equalities(wanted: StockFilter) -> list[ColumnElement[bool]]:
    equal = {
        RECORDS.c.depot: wanted.depot,
        RECORDS.c.presence: wanted.presence,
        RECORDS.c.size_type: wanted.size_type,
        RECORDS.c.condition: wanted.condition,
        RECORDS.c.provenance: wanted.provenance,
        _stands(wanted): wanted.stands,
        RECORDS.c.mark_state: wanted.mark_state,
    }
    return [column == value for column, value in equal.items() if value is not None]


def _stands(wanted: StockFilter) -> ColumnElement[str]:
    """How far a unit's sale has come; a reservation that has ended has brought it nowhere."""
    if wanted.at is None:
        return RECORDS.c.stands
    has_ended = (RECORDS.c.stands == "reserved") & (RECORDS.c.reserved_until <= wanted.at)
    return case((has_ended, "free"), else_=RECORDS.c.stands).label("stands")


def _of_size(wanted: StockFilter) -> list[ColumnElement[bool]]:
    places = ((1, wanted.lengths), (2, wanted.heights), (3, wanted.types))
    return [
        func.substr(RECORDS.c.size_type, place, 1).in_(list(characters))
        for place, characters in places
        if characters is not None
    ]


def _of_days(wanted: StockFilter) -> list[ColumnElement[bool]]:
    made, due = RECORDS.c.manufactured_on, RECORDS.c.examination_on
    in_programme = due.is_(None) & (RECORDS.c.body["next_examination"].as_string() == "programme")
    conditions = []
    if wanted.made_from is not None:
        conditions.append(made >= wanted.made_from)
    if wanted.made_until is not None:
        conditions.append(made <= wanted.made_until)
    if wanted.owes:
        conditions.append(RECORDS.c.owes_on.is_not(None))
    if wanted.examination_before is not None:
        conditions.append(due < wanted.examination_before)
    if wanted.examination_from is not None:
        conditions.append(or_(due >= wanted.examination_from, in_programme))
    return conditions


def _ends_with(digits: str) -> ColumnElement[bool]:
    """Say whether a mark ends with digits, or its serial does: one of ten may follow as check.

    All are written as what the mark read backwards begins with, so that one index finds them.
    """
    backwards = digits[::-1]
    begins = (backwards, *(f"{check}{backwards}" for check in range(10)))
    return or_(*(MARK_BACKWARDS.startswith(one, autoescape=True) for one in begins))


def _others(wanted: StockFilter) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = [
        RECORDS.c.fittings.contains(f" {name} ", autoescape=True) for name in wanted.fittings
    ]
    if wanted.among is not None:
        conditions.append(RECORDS.c.depot.in_(list(wanted.among)))
    if wanted.with_questions is not None:
        has = RECORDS.c.questions > 0
        conditions.append(has if wanted.with_questions else ~has)
    if wanted.colour is not None:
        conditions.append(
            func.lower(RECORDS.c.colour).contains(wanted.colour.lower(), autoescape=True)
        )
    if wanted.digits is not None:
        conditions.append(_ends_with(wanted.digits))
    if wanted.mark_begins is not None:
        conditions.append(RECORDS.c.mark.startswith(wanted.mark_begins, autoescape=True))
    return conditions
