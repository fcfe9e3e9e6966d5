"""The letters that were not sent: list them, let them go again, drop them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection

from shared.errors import HardstandError
from tracker.services.context import Context
from tracker.store import outbox

STUCK: Final = outbox.STUCK
"""Letters in these states do not go by themselves."""


class LetterNotStuckError(HardstandError):
    """A letter is none that will not go by itself; carries its id."""

    def __init__(self, letter_id: UUID) -> None:
        self.letter_id = letter_id
        super().__init__(
            f"Letter {letter_id} is neither given up nor without an address",
            expected="a letter that will not go by itself",
            remedy="`hardstand letters` lists them",
        )


def unsent_letters(context: Context) -> list[dict[str, Any]]:
    """Return the letters that wait and those that will not go by themselves, oldest first."""
    with context.engine.begin() as connection:
        return outbox.list_in(connection, (*STUCK, outbox.WAITING))


def send_again(context: Context, letter_ids: Collection[UUID]) -> list[UUID]:
    """Let letters go again as if never tried; those named, or all that will not go by themselves.

    Raises:
        LetterNotStuckError: One of those named is none of these; then none is changed.
    """
    with context.engine.begin() as connection:
        chosen = _choose(connection, letter_ids)
        outbox.let_go_again(connection, chosen, context.clock.now())
    return chosen


def drop(context: Context, letter_ids: Collection[UUID]) -> list[UUID]:
    """Let the letters named never go; they stay readable in the outbox.

    Raises:
        LetterNotStuckError: As `send_again`.
    """
    if not letter_ids:
        return []
    with context.engine.begin() as connection:
        chosen = _choose(connection, letter_ids)
        outbox.mark_dropped(connection, chosen)
    return chosen


def _choose(connection: Connection, letter_ids: Collection[UUID]) -> list[UUID]:
    stuck = [row["id"] for row in outbox.list_in(connection, STUCK)]
    for letter_id in letter_ids:
        if letter_id not in stuck:
            raise LetterNotStuckError(letter_id)
    return list(letter_ids) or stuck
