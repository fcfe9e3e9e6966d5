"""Forget something said about a person, everywhere at once."""

from __future__ import annotations

from tracker.services.context import Context
from tracker.services.photos import forget_photo
from tracker.store import alert_answers, duties, intake, people, stock_checks, unreadable


def forget(context: Context, value: str) -> bool:
    """Erase a value about a person with its salt; return whether it was known.

    The digest of a picture, as of a signature, erases the picture.

    Histories keep a token that means nothing any more, so no chain breaks. Needs the owner's
    rights. Said again later it is a new value.
    """
    with context.engine.begin() as connection:
        # What waits comes first: whoever judges it now has ended, and said it, before we go on.
        found = [
            one.forget(connection, value, people.FORGOTTEN)
            for one in (intake, unreadable, alert_answers, duties, stock_checks)
        ]
        found.append(people.forget(connection, context.secret, value))
    return forget_photo(context, value) or any(found)
