"""What an inspection by form must say before it is handed in, and what in its verdict is grave."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import orjson

from schemas.verdicts import Receipt
from shared.ids import new_id
from tracker.services import reading
from tracker.services.reading import EventUnreadableError

GRAVE: Final = frozenset({"damage.serious-deficiency", "damage.hold-proposed"})
"""What a verdict says that nobody may overlook, though it only warns; `static/outbox.js` and
`parts/verdict.html` name the same."""

_SAYS_NOTHING: Final = frozenset({"kind", "depot", "mark", "tag", "happened_at"})
_OF_SENDER: Final = {
    "happened_at": "2026-01-01T00:00:00+00:00",
    "reported_by": "somebody",
}


def fault_in(said: Mapping[str, Any]) -> str:
    """Return in words what keeps an inspection from being handed in; empty where nothing does."""
    if not said.keys() - _SAYS_NOTHING:
        return "Nothing was filled in, so nothing was recorded."
    plate = said.get("plate")
    if isinstance(plate, dict) and plate.get("no_plate") is True and not plate.get("seen_by"):
        return "Say who looked, where there is no plate."
    try:
        reading.read_event(orjson.dumps({**said, **_OF_SENDER, "id": str(new_id())}))
    except EventUnreadableError as fault:
        return f"{fault.wrong}."
    return ""


def has_grave(receipt: Receipt) -> bool:
    """Say whether a verdict tells of damage that somebody has to act on at once."""
    found = receipt.verdict.findings if receipt.verdict is not None else ()
    return any(finding.id in GRAVE for finding in found)


def is_elsewhere(unit: Mapping[str, Any], depot: str) -> bool:
    """Say whether a record has a unit anywhere but in a depot."""
    stands_at: str | None = unit["depot"] if unit["presence"] == "in-depot" else None
    return stands_at != depot
