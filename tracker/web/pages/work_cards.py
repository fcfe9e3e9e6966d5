"""What the workshop sees of one unit: its orders line by line, its damage, its paint."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from schemas.work_items import ListedWork
from tracker.judge.work_rules import FAR_FROM_SUM
from tracker.web.pages.open_damage import Mending, is_before, mendings_of


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an order. `item` is None for work that the catalogue does not know."""

    work: str
    count: int
    item: ListedWork | None

    @property
    def words(self) -> str:
        """Say what is to be done."""
        return self.item.words if self.item else self.work.replace("-", " ").capitalize()

    @property
    def reported_as(self) -> str:
        """Say which kind of event tells of it done."""
        return self.item.reported_as.value if self.item else "modification"


@dataclass(frozen=True, slots=True)
class OrderedWork:
    """One open order, with the note that came with it: it may say where."""

    id: str
    lines: tuple[Line, ...]
    due_on: str | None
    is_late: bool
    note: str | None


@dataclass(frozen=True, slots=True)
class WorkCard:
    """All that the workshop has to do with one unit, and its record."""

    unit: Mapping[str, Any]
    orders: tuple[OrderedWork, ...]
    damages: tuple[Mending, ...]

    @property
    def name(self) -> str:
        """Return what the unit is called and found by."""
        return self.unit["mark"] or f"#{self.unit['depot']}/{self.unit['tag']}"

    @property
    def mass_questions(self) -> list[Mapping[str, Any]]:
        """Return the open questions about its masses or its weighing."""
        return [one for one in self.unit["questions"] if _is_about_masses(one["field"])]

    @property
    def may_be_painted(self) -> bool:
        """Say whether the masses are to be painted, and nothing speaks against those known."""
        unit = self.unit
        is_sure = not (self.mass_questions or unit["to_weigh"])
        return "masses" in unit["repaint"] and unit["tare_kg"] is not None and is_sure

    @property
    def is_serious(self) -> bool:
        """Say whether damage on it is a serious deficiency."""
        return any(one.serious for one in self.damages)

    @property
    def is_late(self) -> bool:
        """Say whether something should have been done before today."""
        late_orders = any(one.is_late for one in self.orders)
        return late_orders or any(one.is_late for one in self.damages)


def card_of(
    unit: Mapping[str, Any],
    items: Mapping[str, ListedWork],
    today: date,
    notes: Mapping[str, str] | None = None,
) -> WorkCard:
    """Return what there is to do with a unit, from its record as JSON and the catalogue."""
    orders = tuple(_order(one, items, today, notes or {}) for one in unit["orders"])
    return WorkCard(unit, orders, mendings_of(unit, today))


def weighed_far(history: Iterable[Mapping[str, Any]]) -> str:
    """Return what was told of the last weighing if it lay far from the sum; else nothing."""
    weighed = [
        row
        for row in history
        if row["kind"] == "modification" and row["event"].get("weighed_tare_kg") is not None
    ]
    if not weighed:
        return ""
    last = max(weighed, key=lambda row: (row["effective_at"], row["seq"]))
    told = (one["message"] for one in last["findings"] if one["id"] == FAR_FROM_SUM.id)
    return next(told, "")


def _is_about_masses(field: str) -> bool:
    about = field.partition(".")[0]
    return about in ("masses", "weighed_tare_kg", "fittings") or field == "plate.gross_kg"


def notes_of(history: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Return what was noted beside each work order of a history."""
    return {
        row["id"]: row["event"]["note"]
        for row in history
        if row["kind"] == "work-order" and row["event"].get("note")
    }


def rooms_of(items: Iterable[Mapping[str, Any]]) -> dict[str, list[Mapping[str, Any]]]:
    """Return the items of a checklist by where one stands, in the order to go through."""
    rooms: dict[str, list[Mapping[str, Any]]] = {}
    for item in items:
        rooms.setdefault(item["room"], []).append(item)
    return rooms


def _order(
    order: Mapping[str, Any],
    items: Mapping[str, ListedWork],
    today: date,
    notes: Mapping[str, str],
) -> OrderedWork:
    done = order.get("done") or {}  # a record of a former fold has none
    left = ((work, count - done.get(work, 0)) for work, count in order["lines"].items())
    lines = (Line(work, count, items.get(work)) for work, count in left if count > 0)
    due_on = order["due_on"]
    return OrderedWork(
        order["id"], tuple(lines), due_on, is_before(due_on, today), notes.get(order["id"])
    )
