"""Handing in events from the command line, and waiting for their verdicts."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from time import monotonic, sleep
from typing import Any, Final
from uuid import UUID

import orjson

from schemas.verdicts import Receipt, Verdict
from shared.addresses import Role
from tracker.cli.event_files import Line
from tracker.cli.means import Running
from tracker.services.accept import MOST_AT_ONCE, accept
from tracker.services.drain_all import drain_all
from tracker.services.find_verdicts import find_verdicts

_PATIENCE_S: Final = 1.5
"""So long without a verdict, and no worker is taken to be at work: this process judges itself."""

_GIVE_UP_S: Final = 60
_LOOK_EVERY_S: Final = 0.03


@dataclass(slots=True)
class Answered:
    """One line of a file with what became of it."""

    line: Line
    receipt: Receipt
    verdict: Verdict | None = None
    error: str | None = field(init=False)

    def __post_init__(self) -> None:
        """Say why it was not taken, in the file's own words where it has some."""
        self.error = self.receipt.error
        if self.error is not None and self.receipt.state == "held" and self.line.fault:
            self.error = f"{self.line.fault}. It is kept as it came."

    @property
    def is_well(self) -> bool:
        """Recorded, or waiting to be judged."""
        if not self.receipt.accepted:
            return False
        return self.verdict is None or self.verdict.verdict == "recorded"

    @property
    def depot(self) -> str | None:
        """Where it was reported, if it can be read so far."""
        try:
            said = orjson.loads(self.line.body)
        except orjson.JSONDecodeError:
            return None
        depot = said.get("depot") if isinstance(said, dict) else None
        return depot if isinstance(depot, str) else None

    def to_json(self, *, waited: bool) -> dict[str, Any]:
        """Return the verdict, or without waiting the receipt, with the line it is about."""
        if not waited:
            told = self.receipt.model_dump(mode="json", exclude={"verdict", "error"})
            found = self.verdict and self.verdict.model_dump(mode="json")
            return {"line": self.line.number, **told, "error": self.error, "verdict": found}
        verdict: dict[str, Any] = {"id": self.receipt.id, "verdict": None, "findings": []}
        if self.verdict is not None:
            verdict = self.verdict.model_dump(mode="json")
        return {"line": self.line.number, **verdict, "error": self.error}


def hand_in(running: Running, lines: Sequence[Line], *, wait: bool) -> Iterator[Answered]:
    """Hand in lines in lots, and give each one's answer in their order.

    With `wait` each lot has its verdicts before the next goes in. More than one lot goes the way of
    files, so that others who hand in meanwhile never queue behind it.
    """
    bulk = len(lines) > MOST_AT_ONCE
    for first in range(0, len(lines), MOST_AT_ONCE):
        lot = lines[first : first + MOST_AT_ONCE]
        receipts = accept(running.context(Role.WEB), [line.body for line in lot], bulk=bulk)
        waiting = {one.id for one in receipts if one.id is not None and one.state == "waiting"}
        verdicts = wait_for(running, waiting) if wait else {}
        for line, receipt in zip(lot, receipts, strict=True):
            yield Answered(line, receipt, _verdict_of(receipt, verdicts))


def _verdict_of(receipt: Receipt, verdicts: dict[UUID, Verdict]) -> Verdict | None:
    if receipt.id is not None and receipt.state == "waiting":
        return verdicts.get(receipt.id)
    return receipt.verdict


def wait_for(running: Running, event_ids: Collection[UUID]) -> dict[UUID, Verdict]:
    """Return verdicts once they stand; judge here where no worker does.

    An event that still waits after a minute without progress is left out; it is not lost.
    """
    web, found = running.context(Role.WEB), dict[UUID, Verdict]()
    patience = 0.0 if running.started_here else _PATIENCE_S
    last_progress = monotonic()
    while missing := set(event_ids) - found.keys():
        new = find_verdicts(web, missing)
        found |= new
        idle = monotonic() - last_progress
        if new or (idle >= patience and drain_all(running.context(Role.WORKER))):
            last_progress = monotonic()
        elif idle >= _GIVE_UP_S:
            break
        else:
            sleep(_LOOK_EVERY_S)
    return found
