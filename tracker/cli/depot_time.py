"""Moments for people at the command line: in the time of the depot that they are told of."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, tzinfo
from typing import Self

import typer

from shared.moments import in_zone
from tracker.services import listings
from tracker.services.context import Context


class DepotTime:
    """Tells moments in each depot's own zone, and remembers which zones it told them in.

    What belongs to no depot is told in UTC.
    """

    def __init__(self, zones: Mapping[str, tzinfo]) -> None:
        self._zones = zones
        self._told_of: dict[str, tzinfo] = {}

    @classmethod
    def of(cls, context: Context) -> Self:
        """Return it for the depots of a house."""
        return cls(listings.zones(context))

    def moment(self, value: datetime | str | None, depot: str | None) -> str:
        """Return a moment to the minute, as a table has it: `2026-03-02 08:30`."""
        if not value:
            return ""
        zone = self._zone(depot)
        self._told_of[depot or ""] = zone
        at = datetime.fromisoformat(value) if isinstance(value, str) else value
        return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"

    def told(self, sentence: str, depot: str | None) -> str:
        """Return a sentence with its moments in the depot's zone, which is named behind each."""
        return in_zone(sentence, self._zone(depot), named=True)

    def write_zones(self) -> None:
        """Say in which zones the moments of a table were told; nothing where there were none."""
        if self._told_of:
            said = ", ".join(
                f"{depot} {zone}" if depot else str(zone)
                for depot, zone in sorted(self._told_of.items())
            )
            typer.echo(f"Times are those of the depot: {said}.")

    def _zone(self, depot: str | None) -> tzinfo:
        return self._zones.get(depot or "", UTC)
