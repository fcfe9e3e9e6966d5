"""What an incident of today is, and the desk that its events are written at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from deploy.demo.boxes import Box
from deploy.demo.house import Depot
from deploy.demo.reports import Pen, Report


@dataclass(frozen=True, slots=True)
class Incident:
    """One thing that goes wrong. `look` are commands that show what came of it."""

    title: str
    says: str
    look: tuple[str, ...]
    steps: tuple[tuple[Report, ...], ...]

    @property
    def reports(self) -> tuple[Report, ...]:
        """Return all its events, in the order in which they are handed in."""
        return tuple(report for step in self.steps for report in step)


@dataclass(frozen=True, slots=True)
class Desk:
    """Writes today's reports: facts so many minutes before the moment, decisions at it."""

    pen: Pen
    moment: datetime

    def fact(self, depot: Depot, mark: str, kind: str, minutes_ago: int, /, **said: Any) -> Report:  # noqa: ANN401 - fields
        """Return a report of what happened, by the gate unless it says otherwise."""
        at = self.moment - timedelta(minutes=minutes_ago)
        common = {"depot": depot.code, "mark": mark, "source": "phone"}
        told = {"happened_at": at.isoformat(), "reported_by": depot.gate}
        return self.pen.write(kind, self.moment, common | told | said)

    def decision(self, depot: Depot, by: str, kind: str, /, **said: Any) -> Report:  # noqa: ANN401 - fields
        """Return a report of what is asked for."""
        common = {"depot": depot.code, "source": "page", "reported_by": by}
        return self.pen.write(
            kind, self.moment, common | {"happened_at": self.moment.isoformat()} | said
        )

    def gate_in(self, depot: Depot, box: Box, minutes_ago: int, /, **said: Any) -> Report:  # noqa: ANN401 - fields
        """Return the report that a box came in, as read off its doors unless it says otherwise."""
        read = {"mark": box.mark, "size_type": box.size_type, "masses": box.masses()} | said
        mark = str(read.pop("mark"))
        return self.fact(depot, mark, "gate-in", minutes_ago, **{"slot": "A4-1"} | read)
