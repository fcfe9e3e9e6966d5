"""Forget something said about a person, everywhere at once."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.store import alert_answers, people, stock_checks


def forget(context: Context, value: str) -> bool:
    """Erase a value about a person with its salt; return whether it was known.

    Histories keep a token that means nothing any more, so no chain breaks. Needs the owner's
    rights. Said again later it is a new value.
    """
    with context.engine.begin() as connection:
        was_known = people.forget(connection, context.secret, value)
        was_answered = alert_answers.forget(connection, value, people.FORGOTTEN)
        has_checked = stock_checks.forget(connection, value, people.FORGOTTEN)
        return was_known or was_answered or has_checked
