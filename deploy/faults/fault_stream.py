"""The stream that faults meet: whole lives of units, with what two lanes may quarrel about."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import orjson

from deploy.bench.bench_stream import bodies
from shared import marks
from shared.ids import new_id

_AT_ONCE: Final = 40
_AGAIN: Final = 2
_A_LIFE: Final = 15
"""Events of a unit: a little less than there are, so that the lives last as long as the stream."""

_OWNERS: Final = ("ZZZ", "QQX", "HQX")


@dataclass(slots=True)
class FaultStream:
    """Events in the order in which they are sent, the same for the same seed but for their ids.

    A sender who hears nothing sends the same again, so an event stands where it was sent first.
    """

    count: int
    seed: int = 7
    sent: dict[str, bytes] = field(default_factory=dict)
    """What was sent, by id, in the order of its first sending."""
    set_aside: set[str] = field(default_factory=set)
    """What an operator let be judged later than its place."""
    _chance: random.Random = field(init=False)

    def __post_init__(self) -> None:
        """Begin the stream of its seed."""
        self._chance = random.Random(self.seed)  # noqa: S311 - a made-up stream, no secret

    def opening(self) -> list[bytes]:
        """Return one arrival of each owner, so that all owner codes are known ahead."""
        arrivals = [_about(f"{owner}U{900001}", "gate-in") for owner in _OWNERS]
        return _written(arrivals)

    def halves(self) -> tuple[list[bytes], list[bytes]]:
        """Return what is judged before the fault, and what is in flight when it comes.

        Some units are painted with another mark on the way and called by either afterwards, which
        brings them before two lanes at once.
        """
        told = [orjson.loads(body) for body in bodies(self.count, self.count // _A_LIFE, self.seed)]
        quarrelling = [said for one in told for said in self._with_new_mark(one)]
        first = len(quarrelling) // 4
        return _written(quarrelling[:first]), _written(quarrelling[first:])

    def settling(self, questions: Iterable[str], judged: Sequence[bytes]) -> list[bytes]:
        """Return answers to questions, and corrections of events that have their verdict."""
        answers = [_answer(question) for question in questions]
        some = self._chance.sample(list(judged), len(judged) // 40)
        return _written([*answers, *(self._correction(orjson.loads(body)) for body in some)])

    def lots(self, events: Sequence[bytes]) -> Iterator[list[bytes]]:
        """Return events in lots as a gate's buffer sends them, some of what was sent before again.

        They have their place in the stream from now on.
        """
        for start in range(0, len(events), _AT_ONCE):
            lot = events[start : start + _AT_ONCE]
            again = [
                one for one in self.sent.values() if self._chance.random() < _AGAIN / self.count
            ]
            self.sent |= zip(map(id_of, lot), lot, strict=True)
            yield [*lot, *again]

    def _with_new_mark(self, event: dict[str, Any]) -> Iterator[dict[str, Any]]:
        mark = str(event["mark"])
        if int(mark[4:10]) % 6 == 0:
            new = _marked(f"{mark[:4]}{int(mark[4:10]) + 500_000:06d}")
            if event["kind"] == "work-order":
                painted = {"kind": "marking", "action": "re-marked", "new_mark": new}
                same = {key: event[key] for key in ("depot", "mark", "happened_at", "reported_by")}
                yield {**same, **painted, "id": str(new_id())}
            elif self._chance.random() < 0.3:
                event = {**event, "mark": new}
        elif event["kind"] == "gate-out":
            # Out by sale, past a hold: a breach, which is told by mail.
            event = {**event, "purpose": "sale"}
        yield event

    def _correction(self, event: dict[str, Any]) -> dict[str, Any]:
        changes: dict[str, Any] = {"note": "said by the driver"}
        if self._chance.random() < 0.3:
            changes = {"mark": _marked(f"{event['mark'][:4]}{self._chance.randrange(20):06d}")}
        said = {"corrects": event["id"], "changes": changes, "reason": "misread"}
        named = {"kind": "correction", "id": str(new_id()), "depot": event["depot"]}
        return {**named, **_when(event), **said}


def id_of(body: bytes) -> str:
    """Return the id of an event as it is handed in."""
    return str(orjson.loads(body)["id"])


def _written(events: Iterable[dict[str, Any]]) -> list[bytes]:
    return [orjson.dumps(event) for event in events]


def _when(event: dict[str, Any]) -> dict[str, Any]:
    return {"happened_at": event["happened_at"], "reported_by": event["reported_by"]}


def _answer(question: str) -> dict[str, Any]:
    said = {"question": question, "settlement": "confirmed"}
    return {**_about(None, "answer"), **said}


def _about(first_ten: str | None, kind: str) -> dict[str, Any]:
    event: dict[str, Any] = {
        "kind": kind,
        "id": str(new_id()),
        "depot": "NORTH",
        "happened_at": "2026-01-05T08:00:00+00:00",
        "reported_by": "Ada Quill",
    }
    return event if first_ten is None else {**event, "mark": _marked(first_ten)}


def _marked(first_ten: str) -> str:
    return first_ten + marks.check_digit(first_ten)
