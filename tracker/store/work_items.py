"""The house's own catalogue of work: the shipped set, with what the house does otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from sqlalchemy import Connection, select
from sqlalchemy.dialects.postgresql import insert

from shared.table_files import Certainty
from shared.work import ApprovalEffect, ReportedAs, WorkItem, starting_catalogue
from tracker.store.tables import WORK_ITEMS

_FIELDS: Final = tuple(WorkItem.__slots__)
_COLUMNS: Final = (*(WORK_ITEMS.c[name] for name in _FIELDS), WORK_ITEMS.c.withdrawn)


def catalogue(connection: Connection) -> Mapping[str, WorkItem]:
    """Return all work that the house does, by name: the shipped set first, then what it added."""
    found = connection.execute(select(*_COLUMNS).order_by(WORK_ITEMS.c.name))
    return _overlaid(tuple(map(tuple, found)))


def put(connection: Connection, item: WorkItem, *, withdrawn: bool = False) -> None:
    """Let an item stand in the catalogue in place of any of its name, or be withdrawn from it."""
    values = {name: getattr(item, name) for name in _FIELDS} | {"withdrawn": withdrawn}
    connection.execute(
        insert(WORK_ITEMS)
        .values(**values)
        .on_conflict_do_update(constraint="pk_work_items", set_=values)
    )


# A house changes its catalogue a few times a year, and every batch of every drain asks for it.
@lru_cache(maxsize=8)
def _overlaid(rows: tuple[tuple[Any, ...], ...]) -> Mapping[str, WorkItem]:
    items = dict(starting_catalogue())
    for *values, withdrawn in rows:
        item = _read(values)
        if withdrawn:
            items.pop(item.name, None)
        else:
            items[item.name] = item
    return MappingProxyType(items)


def _read(values: list[Any]) -> WorkItem:
    said = dict(zip(_FIELDS, values, strict=True))
    said["approval_effect"] = ApprovalEffect(said["approval_effect"])
    said["reported_as"] = ReportedAs(said["reported_as"])
    said["certainty"] = Certainty(said["certainty"])
    return WorkItem(**said)
