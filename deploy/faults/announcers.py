"""Announcers that lose what they are told, some of it or all."""

from __future__ import annotations

import random
from collections.abc import Iterable

from tracker.services.context import Announcer


class LosingAnnouncer:
    """Loses announcements at random, and counts them."""

    def __init__(self, inner: Announcer, part: float, seed: int = 5) -> None:
        self._inner = inner
        self._part = part
        self._chance = random.Random(seed)  # noqa: S311 - a made-up fault, no secret
        self.lost = 0

    def announce(self, lanes: Iterable[int]) -> None:
        """Announce what is not lost."""
        told = list(lanes)
        kept = [lane for lane in told if self._chance.random() >= self._part]
        self.lost += len(told) - len(kept)
        self._inner.announce(kept)

    def begin(self, lane: int) -> None:
        """Pass it on: it is not an announcement."""
        self._inner.begin(lane)
