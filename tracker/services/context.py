"""What a use case needs from its process besides its data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Protocol

from sqlalchemy import Connection, Engine

from shared.clock import Clock
from shared.misreads import KnownMarkSets
from shared.plates import MonthReading
from shared.settings import Settings
from tracker.judge.judgement import Rulebook
from tracker.store import house, marks, work_items


class Announcer(Protocol):
    """Tells workers that lanes have work. May lose what it is told: the sweep says it again."""

    def announce(self, lanes: Iterable[int]) -> None:
        """Announce lanes; never fails, never waits long."""

    def begin(self, lane: int) -> None:
        """Note that a lane is being drained, so that later work is announced anew."""


class SilentAnnouncer:
    """Announces nothing, for a process that drains its own work."""

    def announce(self, lanes: Iterable[int]) -> None:
        """Do nothing."""

    def begin(self, lane: int) -> None:
        """Do nothing."""


@dataclass(frozen=True, slots=True)
class Context:
    """One process's means: made at its composition root, handed to every use case."""

    engine: Engine
    settings: Settings
    clock: Clock
    announcer: Announcer = field(default_factory=SilentAnnouncer)

    @property
    def secret(self) -> bytes:
        """The key of digests and tokens."""
        key = self.settings.secret_key
        if key is None:
            raise RuntimeError("the composition root completes the settings with a secret")
        return key.get_secret_value().encode()

    @property
    def month_reading(self) -> MonthReading:
        """How the month on a plate is read here."""
        return MonthReading(self.settings.examination_reading.value)

    def rulebook(self, connection: Connection) -> Rulebook:
        """Return what judging goes by today: settings, codes, zones, catalogue."""
        return Rulebook(
            month_reading=self.month_reading,
            future_tolerance=timedelta(minutes=self.settings.future_tolerance_min),
            known=KnownMarkSets(owner_codes=marks.owner_codes(connection)),
            zones=house.zones(connection),
            catalogue=work_items.catalogue(connection),
            currency=self.settings.currency,
            tax_rate_percent=self.settings.tax_rate_percent,
        )
