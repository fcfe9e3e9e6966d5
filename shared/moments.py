"""Moments that sentences quote, told in the time of a place.

The record and what judging says of it quote moments in UTC, so that they fold to the same words
wherever and whenever they are folded. Whoever shows such a sentence to people at a depot tells the
moment in the depot's own time, by `in_zone`.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, tzinfo
from typing import Final

_QUOTED: Final = re.compile(r"\b(\d{4}-\d{2}-\d{2} \d{2}:\d{2}) UTC\b")


def moment_said(moment: str) -> str:
    """Write a moment for a sentence of the record: to the minute, in UTC."""
    at = datetime.fromisoformat(moment).astimezone(UTC)
    return f"{at:%Y-%m-%d %H:%M} UTC"


def moment_in(moment: datetime, zone: tzinfo, *, named: bool = False) -> str:
    """Write a moment as day and minute of a zone: `2 Mar 2026, 08:30`.

    `named` adds the zone, for those who read it away from the depot: `… 08:30 (Europe/Berlin)`.
    """
    told = f"{moment.astimezone(zone):%d %b %Y, %H:%M}".removeprefix("0")
    return f"{told} ({zone})" if named else told


def in_zone(sentence: str, zone: tzinfo, *, named: bool = False) -> str:
    """Return a sentence with each moment that `moment_said` wrote told in a zone, as `moment_in`.

    `static/moments.js` does the same.
    """
    return _QUOTED.sub(lambda found: _told(found[0], found[1], zone, named=named), sentence)


def _told(whole: str, moment: str, zone: tzinfo, *, named: bool) -> str:
    try:
        read = datetime.fromisoformat(moment).replace(tzinfo=UTC)
        return moment_in(read, zone, named=named)
    except (ValueError, OverflowError):
        return whole  # digits that are no moment: somebody's own words
