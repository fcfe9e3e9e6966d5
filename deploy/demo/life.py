"""One box's life as a line of reports: days pass, facts are handed in of an evening.

The depots work three days a week. Decisions are asked for when the desk opens, facts are handed in
together when the gate closes; so a decision that follows a fact waits for the next working day.
That keeps the moments at which something is handed in few: each costs the demo a transaction.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any, Final
from uuid import UUID

from deploy.demo.boxes import Box
from deploy.demo.house import Depot
from deploy.demo.reports import Pen, Report

_DESK_OPENS: Final = time(8)
_FIRST_LORRY: Final = time(8, 40)
_GATE_CLOSES: Final = time(17, 30)
_BETWEEN_FACTS: Final = timedelta(minutes=35)
_WORKING: Final = (0, 2, 4)
"""Monday, Wednesday, Friday."""


@dataclass(slots=True)
class Life:
    """A box, where it is, which day it is, and all that was reported so far."""

    pen: Pen
    box: Box
    depot: Depot
    day: date
    plate_photo: str | None = None
    """The digest of its plate's photo, where one is taken at the inspection."""
    reports: list[Report] = field(default_factory=list)
    _facts_today: int = 0

    def wait(self, days: int) -> None:
        """Let days pass, and go on with the next working day."""
        self.day, self._facts_today = working_day(self.day + timedelta(days=days)), 0

    def fact(self, kind: str, by: str, /, **said: Any) -> UUID:  # noqa: ANN401 - fields of any kind
        """Report what happened; return the id."""
        happened_at = self._at(_FIRST_LORRY) + self._facts_today * _BETWEEN_FACTS
        self._facts_today += 1
        return self._report(kind, self._at(_GATE_CLOSES), happened_at, by, said)

    def decision(self, kind: str, by: str, /, **said: Any) -> UUID:  # noqa: ANN401 - fields of any kind
        """Ask for something; return the id."""
        if self._facts_today:
            self.wait(1)
        asked_at = self._at(_DESK_OPENS)
        return self._report(kind, asked_at, asked_at, by, said)

    def _report(
        self, kind: str, received_at: datetime, at: datetime, by: str, said: dict[str, Any]
    ) -> UUID:
        common = {"depot": self.depot.code, "mark": self.box.mark, "source": "page"}
        common |= {"happened_at": at.isoformat(), "reported_by": by}
        written = self.pen.write(kind, received_at, common | said)
        self.reports.append(written)
        return written.id

    def _at(self, hour: time) -> datetime:
        return datetime.combine(self.day, hour, self.depot.clock_zone)


def working_day(day: date) -> date:
    """Return the day, or the next on which somebody works."""
    while day.weekday() not in _WORKING:
        day += timedelta(days=1)
    return day


def working_day_before(day: date, days: int) -> date:
    """Return the last working day that lies at least `days` before."""
    day -= timedelta(days=days)
    while day.weekday() not in _WORKING:
        day -= timedelta(days=1)
    return day
