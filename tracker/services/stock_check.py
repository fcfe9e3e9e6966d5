"""Stock checks: begin one, report sightings that name it, compare what was seen with the record.

The sightings are events like any other and move each record to where the unit was seen. The check
itself is work of the day: when it is finished, the next round raises an alert per unit not found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from shared.errors import HardstandError
from shared.ids import new_id
from tracker.services.context import Context
from tracker.services.sight import Sight
from tracker.store import stock_checks
from tracker.store.stock_checks import StockCheck


class StockCheckUnknownError(HardstandError):
    """There is no such stock check to be seen; carries its id."""

    def __init__(self, check_id: str) -> None:
        self.check_id = check_id
        super().__init__(
            f"There is no stock check {check_id!r}",
            expected="an id that the list of stock checks shows",
        )


class StockCheckTakenError(HardstandError):
    """Another stock check has the id already; carries it."""

    def __init__(self, check_id: str) -> None:
        self.check_id = check_id
        super().__init__(
            f"There is a stock check {check_id!r} already",
            expected="an id of its own",
            remedy="Leave the id out, then one is made",
        )


@dataclass(frozen=True, slots=True)
class Found:
    """A unit that a check has something to tell of: where it is by the record, and where it was."""

    unit_id: UUID
    mark: str | None
    slot: str | None
    slot_before: str | None = None
    was: str | None = None
    """Where the record had it before, in words, where that was not this depot."""
    last_seen_at: str | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a stock check came to, each list by unit."""

    check: StockCheck
    seen: int
    found_without_arrival: tuple[Found, ...]
    not_found: tuple[Found, ...]
    in_wrong_slot: tuple[Found, ...]


ALL_DEPOTS = Sight(None)


def begin(context: Context, depot: str, by: str, *, check_id: str | None = None) -> StockCheck:
    """Begin a stock check of a depot; sightings name it by its id.

    Raises:
        StockCheckTakenError: the id given is another check's.
    """
    check = StockCheck(check_id or str(new_id()), depot, by, context.clock.now())
    with context.engine.begin() as connection:
        if not stock_checks.begin(connection, check):
            raise StockCheckTakenError(check.id)
    return check


def compare(context: Context, check_id: str, *, sight: Sight = ALL_DEPOTS) -> Comparison:
    """Compare what a check has seen so far with what the record has in the depot.

    A unit counts as seen that anybody reported on the ground since the check began, be it moved,
    inspected or come in; in the wrong slot is what the check saw in another than the record's.

    Raises:
        StockCheckUnknownError: there is no such check, or none at a depot within `sight`.
    """
    with context.engine.begin() as connection:
        check = stock_checks.find(connection, check_id)
        if check is None or not sight.reaches(check.depot):
            raise StockCheckUnknownError(check_id)
        seen = list(stock_checks.every_seen(connection, check))
        return Comparison(
            check=check,
            seen=len(seen),
            found_without_arrival=tuple(_found(row) for row in seen if row.not_in is not None),
            not_found=tuple(map(_missed, stock_checks.every_unseen(connection, check))),
            in_wrong_slot=tuple(_misplaced(seen)),
        )


def finish(context: Context, check_id: str, *, sight: Sight = ALL_DEPOTS) -> Comparison:
    """Finish a check, so that the next round tells what it missed; once is enough.

    Raises:
        StockCheckUnknownError: see `compare`.
    """
    compared = compare(context, check_id, sight=sight)
    with context.engine.begin() as connection:
        stock_checks.finish(connection, check_id, context.clock.now())
    return compared


def list_checks(context: Context, *, sight: Sight = ALL_DEPOTS) -> list[StockCheck]:
    """Return the stock checks within sight, the last begun first."""
    with context.engine.begin() as connection:
        return stock_checks.list_all(connection, sight.depots)


def _misplaced(seen: list[Any]) -> Iterator[Found]:
    for row in seen:
        if row.seen_at is not None and row.slot_before not in (None, row.seen_at):
            yield _found(row)


def _found(row: Any) -> Found:  # noqa: ANN401 - a database row
    return Found(row.unit_id, row.mark or row.tag, row.seen_at, row.slot_before, row.not_in)


def _missed(row: Any) -> Found:  # noqa: ANN401 - a database row
    return Found(row.unit_id, row.mark or row.tag, row.slot, last_seen_at=row.last_seen_at)
