"""The marks and owner codes that the records know, asked for when something is to be suggested."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Set
from functools import cached_property

from sqlalchemy import Connection

from schemas.records import Presence
from shared.misreads import Standing
from tracker.store import marks


class StoredMarks:
    """Known marks as the database has them; good for one transaction.

    Tells of every depot's marks whether they exist, never where they are: a box of another depot
    may come in at any gate.
    """

    def __init__(
        self,
        connection: Connection,
        depot: str | None = None,
        presence: Presence = "expected",
    ) -> None:
        """Look marks up for a depot, or for any if None.

        What is `presence` there counts as expected: for a departure, what stands there.
        """
        self._connection = connection
        self._depot = depot
        self._presence = presence

    @cached_property
    def owner_codes(self) -> Set[str]:
        """Return the owner codes known, three letters each."""
        return marks.owner_codes(self._connection)

    def which_exist(self, candidates: Collection[str]) -> Mapping[str, Standing]:
        """Return those of the candidates that are expected or known."""
        found = marks.which_exist(self._connection, candidates, self._depot, self._presence)
        return {
            mark: Standing.EXPECTED if is_expected else Standing.KNOWN
            for mark, is_expected in found.items()
        }
