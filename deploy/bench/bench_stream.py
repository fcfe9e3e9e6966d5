"""The mixed stream that is recorded: whole lives of invented units, the same for the same seed."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import datetime, timedelta

import orjson

from deploy.bench.bench_life import Event, life
from shared.clock import SystemClock

_ACTIVE = 2000
_LATE = 0.01
_AHEAD = timedelta(minutes=1)
_STEP = timedelta(microseconds=100)


def bodies(count: int, units: int, seed: int = 7) -> list[bytes]:
    """Return `count` events over about `units` units as JSON, in the order they are sent.

    They tell of months ago, as a file of old papers does: each decision, which takes effect when it
    is received, makes all facts that follow come late.
    """
    chance = random.Random(seed)  # noqa: S311 - a made-up stream, no secret
    told = _told(chance, range(units))
    return [
        orjson.dumps(_late(event, chance)) for _, event in zip(range(count), told, strict=False)
    ]


class LiveStream:
    """Hands out events that happen as they are sent, one in a hundred two days before."""

    def __init__(self, units: int, seed: int = 7, first: int = 0) -> None:
        """Begin the lives of so many units, numbered from `first`."""
        self._chance = random.Random(seed)  # noqa: S311 - a made-up stream, no secret
        self._told = _told(self._chance, range(first, first + units))
        self._at = SystemClock().now()

    def next(self, count: int) -> list[bytes]:
        """Return the next `count` events as JSON, to be sent within seconds.

        They happen a minute ahead, which the judge allows for: so that a fact comes after the
        decision that was sent before it.
        """
        self._at = max(self._at, SystemClock().now() + _AHEAD)
        sent: list[bytes] = []
        for event in self._told:
            self._at += _STEP
            stamped = event | {"happened_at": self._at.isoformat()}
            sent.append(orjson.dumps(_late(stamped, self._chance)))
            if len(sent) == count:
                break
        return sent


def _told(chance: random.Random, units: range) -> Iterator[Event]:
    """Return events of many lives mixed: so many units are active at any time, as in a depot."""
    lives = [life(chance, number) for number in units]
    while lives:
        one = lives[int(chance.random() * min(len(lives), _ACTIVE))]
        try:
            yield next(one)
        except StopIteration:
            lives.remove(one)


def _late(event: Event, chance: random.Random) -> Event:
    if chance.random() >= _LATE:
        return event
    happened = datetime.fromisoformat(event["happened_at"]) - timedelta(days=2)
    return event | {"happened_at": happened.isoformat()}
