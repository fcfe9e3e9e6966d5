"""Write events as they are handed in, with ids that follow from the scenario alone.

Handing the same scenario in again therefore meets the same receipts and changes nothing.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from typing import Any, Final
from uuid import UUID

import orjson

_VERSION: Final = 7 << 76
_VARIANT: Final = 2 << 62


@dataclass(frozen=True, slots=True)
class Report:
    """One event, and the moment at which it is handed in."""

    received_at: datetime
    id: UUID
    kind: str
    body: bytes


@dataclass(slots=True)
class Pen:
    """Writes reports; those of one moment sort in the order in which they were written."""

    seed: str
    _written: Counter[int] = field(default_factory=Counter)

    def write(self, kind: str, received_at: datetime, said: dict[str, Any]) -> Report:
        """Return a report; what it says of None is left out."""
        event_id = self._next_id(received_at)
        event = {"kind": kind, "id": str(event_id)}
        event |= {name: value for name, value in said.items() if value is not None}
        return Report(received_at, event_id, kind, orjson.dumps(event))

    def _next_id(self, moment: datetime) -> UUID:
        """Return a UUID of version 7 whose random part follows from seed, moment and number."""
        millisecond = int(moment.timestamp() * 1000)
        number = self._written[millisecond]
        self._written[millisecond] += 1
        named = sha256(f"{self.seed}/{millisecond}/{number}".encode()).digest()
        chance = int.from_bytes(named[:8]) >> 2
        return UUID(int=millisecond << 80 | _VERSION | number << 64 | _VARIANT | chance)
