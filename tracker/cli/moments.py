"""Reading moments and days from the command line."""

from __future__ import annotations

from datetime import date, datetime

import typer


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
    return moment


def read_day(text: str) -> date:
    """Read a day as YYYY-MM-DD; anything else is wrong usage."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is no day; write it as 2026-03-02.") from None
