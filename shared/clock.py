"""The clock: the one place that asks what time it is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Protocol

from typing_extensions import override

from shared.errors import HardstandError


class ClockError(HardstandError):
    """A moment without a zone was given; carries it."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment
        super().__init__(f"{moment.isoformat()} has no zone", expected="a moment with its zone")


class Clock(Protocol):
    """What tells the time; handed down from where a process starts."""

    def now(self) -> datetime:
        """Return the present moment, in UTC."""
        ...


class SystemClock(Clock):
    """The machine's own clock."""

    @override
    def now(self) -> datetime:
        """Return the present moment, in UTC."""
        return datetime.now(UTC)


class StandingClock(Clock):
    """A clock that stands still and is moved by hand; for tests and the demo day.

    Does not run, and does not refuse to go back.
    """

    def __init__(self, moment: datetime) -> None:
        self._moment = _in_utc(moment)

    @override
    def now(self) -> datetime:
        """Return the moment it was set to, in UTC."""
        return self._moment

    def set(self, moment: datetime) -> None:
        """Set the clock to `moment`.

        Raises:
            ClockError: `moment` has no zone.
        """
        self._moment = _in_utc(moment)

    def move(self, by: timedelta) -> datetime:
        """Move the clock on (or back) and return what it now shows."""
        self._moment += by
        return self._moment


def _in_utc(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise ClockError(moment)
    return moment.astimezone(UTC)
