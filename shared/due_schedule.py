"""On which days what falls due is told, and to whom: our own rules, in a table that ships."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shared.table_files import Certainty, TableRow, load_table


@dataclass(frozen=True, slots=True)
class Schedule:
    """When one kind of thing is due, and when it is told; days are counted from the due day.

    `tells` go to the owner's role, in order; on `escalates_on` the manager is told, and after it
    nobody. None: it is not escalated, since it ends by itself.
    """

    kind: str
    words: str
    role: str
    grace_days: int
    tells: tuple[int, ...]
    escalates_on: int | None
    source: str
    certainty: Certainty

    def days(self, ahead: tuple[int, ...] = ()) -> tuple[int, ...]:
        """Return all days on which it is told, with those that are `ahead` of it besides."""
        days = {*(-day for day in ahead), *self.tells}
        if self.escalates_on is not None:
            days.add(self.escalates_on)
        return tuple(sorted(days))


@cache
def schedules() -> dict[str, Schedule]:
    """Return the schedule of every kind, in the order of the table."""
    return {row["kind"]: _read(row) for row in load_table("due_schedule")}


def _read(row: TableRow) -> Schedule:
    return Schedule(
        kind=row["kind"],
        words=row["words"],
        role=row["role"],
        grace_days=int(row["grace_days"]),
        tells=tuple(map(int, row["tells"].split())),
        escalates_on=int(row["escalates"]) if row["escalates"] else None,
        source=row.source,
        certainty=row.certainty,
    )
