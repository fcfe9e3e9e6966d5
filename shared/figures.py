"""Named constants of a calculation, read from a data table, each with unit, source, certainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from shared.errors import KnowledgeError
from shared.table_files import Certainty, load_table


@dataclass(frozen=True, slots=True)
class Figure:
    """One constant. A figure does not know the formula it is used in."""

    name: str
    value: float
    unit: str
    source: str
    certainty: Certainty


class FigureMissingError(KnowledgeError):
    """A table of figures does not hold a figure that the program uses; carries both names."""

    def __init__(self, table: str, name: str) -> None:
        self.table = table
        self.name = name
        super().__init__(
            f"The table {table} holds no figure {name!r}",
            remedy=f"Add it to shared/tables/{table}.csv with its source and certainty",
        )


@cache
def load_figures(table: str) -> Mapping[str, Figure]:
    """Return the figures of `shared/tables/<table>.csv` by name; columns `name,value,unit`."""
    figures = {
        row["name"]: Figure(
            row["name"], float(row["value"]), row["unit"], row.source, row.certainty
        )
        for row in load_table(table)
    }
    return MappingProxyType(figures)


def get_figure(table: str, name: str) -> Figure:
    """Return one figure; raises `FigureMissingError` when the table has no such name."""
    figure = load_figures(table).get(name)
    if figure is None:
        raise FigureMissingError(table, name)
    return figure
