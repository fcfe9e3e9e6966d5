"""What a depot has promised by quantity, against the free units that are there to keep it.

A unit may fit several orders and goes on one. So whether all of them can be kept is asked of the
best way to hand the units out: a maximum flow from kinds of units to orders.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, Final

import orjson

from schemas.orders import OrderRecord
from schemas.records import Record
from tracker.judge.descriptions import Kind, kind_of, misfits

_ANY_NUMBER = 1_000_000
_NEW = ""
"""Stands for the description that is asked about; no other is empty."""


_LONG_AGO: Final = datetime(1950, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Promises:
    """The free units of one depot by kind, and its orders that wait for some."""

    stock: Mapping[Kind, int]
    orders: Sequence[OrderRecord] = ()
    at: datetime = _LONG_AGO
    """The moment at which units were counted: what was reserved no more is in the stock."""

    def left_for(self, description: dict[str, Any]) -> int:
        """Return how many units of a description may still be promised."""
        wanted = self._wanted()
        kept = self._most_kept(wanted)
        groups = _groups(self.stock, {**{name: name for name in wanted}, _NEW: _text(description)})
        return most_kept(groups, {**wanted, _NEW: _ANY_NUMBER}) - kept

    def short(self) -> int:
        """Return how many promised units cannot be found, however they are handed out."""
        wanted = self._wanted()
        return sum(wanted.values()) - self._most_kept(wanted)

    def short_by_order(self) -> dict[str, int]:
        """Return by order how many of its units cannot be found; the oldest are served first."""
        if not self.short():
            return {}
        groups = _groups(self.stock, {name: name for name in self._wanted()})
        asked, kept, short = Counter[str](), 0, {}
        for order in sorted(self.orders, key=_age):
            asked[_text(order.description)] += order.outstanding
            now_kept = most_kept(groups, asked)
            if missing := order.outstanding - (now_kept - kept):
                short[order.order_id] = missing
            kept = now_kept
        return short

    def short_without(self, record: Record, *, goes_on: str | None = None) -> int:
        """Return what would be short if a free unit were taken, `goes_on` being its order."""
        wanted = self._wanted()
        for order in self.orders:
            if order.order_id == goes_on:
                wanted[_text(order.description)] -= min(1, order.outstanding)
        stock = Counter(self.stock)
        stock[kind_of(record)] -= 1
        return sum(wanted.values()) - self._most_kept(wanted, stock)

    def waiting_for(self, record: Record) -> list[OrderRecord]:
        """Return the orders that the unit would do for, the oldest first."""
        kind = kind_of(record)
        fit = [order for order in self.orders if _fits(kind, _text(order.description))]
        return sorted(fit, key=_age)

    def _wanted(self) -> Counter[str]:
        """Return how many units of each description are promised.

        Orders of one description are one: how many of their units can be found is the same.
        """
        wanted: Counter[str] = Counter()
        for order in self.orders:
            wanted[_text(order.description)] += order.outstanding
        return wanted

    def _most_kept(self, wanted: Mapping[str, int], stock: Mapping[Kind, int] | None = None) -> int:
        described = {name: name for name in wanted}
        return most_kept(_groups(self.stock if stock is None else stock, described), wanted)


def _age(order: OrderRecord) -> tuple[str, str]:
    return order.ordered_at, order.order_id


Group = tuple[frozenset[str], int]
"""The orders that some units would do for, and how many units that are.

An order is one here with all others of its description, and goes by that."""


def most_kept(groups: Sequence[Group], wanted: Mapping[str, int]) -> int:
    """Return how many of the wanted units can be handed out at once."""
    left = [max(0, units) for _, units in groups]
    given: defaultdict[tuple[int, str], int] = defaultdict(int)
    kept = 0
    for name, count in sorted(wanted.items()):
        missing = count
        while missing and (steps := _find_way(name, groups, left, given)):
            amount = min(missing, left[steps[0][1]])
            for order, _, gives_up in steps:
                if gives_up is not None:
                    amount = min(amount, given[gives_up, order])
            left[steps[0][1]] -= amount
            for order, takes, gives_up in steps:
                given[takes, order] += amount
                if gives_up is not None:
                    given[gives_up, order] -= amount
            missing -= amount
            kept += amount
    return kept


Step = tuple[str, int, int | None]
"""An order takes units of one group, and gives up as many of another to the next step's order."""


def _find_way(
    name: str, groups: Sequence[Group], left: Sequence[int], given: Mapping[tuple[int, str], int]
) -> list[Step]:
    """Return how an order comes by a unit, others taking another instead; empty when it cannot.

    The first step takes what is left of its group.
    """
    queue = deque([name])
    gives_up: dict[str, int | None] = {name: None}
    taken_by: dict[int, str] = {}
    while queue:
        order = queue.popleft()
        for at, (fits, _) in enumerate(groups):
            if at in taken_by or order not in fits:
                continue
            taken_by[at] = order
            if left[at]:
                return _unwind(at, taken_by, gives_up)
            for other in sorted(fits):
                if other not in gives_up and given.get((at, other)):
                    gives_up[other] = at
                    queue.append(other)
    return []


def _unwind(at: int, taken_by: dict[int, str], gives_up: dict[str, int | None]) -> list[Step]:
    steps: list[Step] = []
    group: int | None = at
    while group is not None:
        order = taken_by[group]
        steps.append((order, group, gives_up[order]))
        group = gives_up[order]
    return steps


def _groups(stock: Mapping[Kind, int], described: Mapping[str, str]) -> list[Group]:
    """Gather kinds that would do for the same orders; the others do for none."""
    groups: Counter[frozenset[str]] = Counter()
    for kind, units in stock.items():
        fits = frozenset(name for name, text in described.items() if _fits(kind, text))
        if fits:
            groups[fits] += units
    return sorted(groups.items(), key=lambda group: sorted(group[0]))


def _text(description: dict[str, Any]) -> str:
    return orjson.dumps(description, option=orjson.OPT_SORT_KEYS).decode()


@lru_cache(maxsize=8192)
def _fits(kind: Kind, description: str) -> bool:
    return not misfits(kind, orjson.loads(description))


def count_kinds(records: Iterable[Record]) -> Counter[Kind]:
    """Return how many records there are of each kind."""
    return Counter(map(kind_of, records))
