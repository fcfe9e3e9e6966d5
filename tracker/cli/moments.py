"""Reading moments and days from the command line."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

import typer

# As for every moment in an event; further off it could not be told in another zone.
_FIRST_YEAR: Final = 1950
_LAST_YEAR: Final = 2199


def read_moment(text: str) -> datetime:
    """Read a moment in ISO 8601 with its zone; anything else is wrong usage."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(
            f"{text!r} is no moment; write 2026-03-02T08:00:00Z or 2026-03-02T08:00+01:00."
        ) from None
    if moment.tzinfo is None:
        raise typer.BadParameter(
            f"{text!r} has no zone; add Z for UTC, or the offset such as +01:00."
        )
    if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
        raise typer.BadParameter(f"{text!r} does not lie in {_FIRST_YEAR} to {_LAST_YEAR}.")
    return moment


def read_day(text: str) -> date:
    """Read a day as YYYY-MM-DD; anything else is wrong usage."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is no day; write it as 2026-03-02.") from None
