"""The one unit that a page is about: as its address names it, and as an event of its forms does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Query

UnitName = Annotated[str, Query(max_length=80, pattern=r"^[^\x00]+$")]
"""A mark, a tag number with its depot, or a unit's id, in a page's query."""


def naming(record: Mapping[str, Any]) -> dict[str, str]:
    """Return the field by which an event names a unit: its mark, or its tag where it has none."""
    return {"mark": record["mark"]} if record["mark"] else {"tag": record["tag"]}
