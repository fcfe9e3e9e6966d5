"""What answers and corrections of a unit's history changed, in words: what was, and what is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from tracker.services.standing import overrides_of
from tracker.web.pages.words import flat, moment

_ALWAYS_THE_SAME: Final = ("id", "kind", "schema_version", "source")


@dataclass(frozen=True, slots=True)
class Changed:
    """One value: its label, what it was and what it is; empty where it was or is not there."""

    label: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Settled:
    """What a row did to one earlier event. `gone` says that the event stands here no more."""

    event_id: str
    gone: bool
    changes: tuple[Changed, ...] = ()


def settled_by(history: Iterable[dict[str, Any]], zone: str) -> dict[str, list[Settled]]:
    """Return what each settling row of a shown history changed, by the row's id.

    What an event was is what it was before that row, so that a correction of a correction tells
    its own change only. An event that came from another unit tells none.
    """
    stood: dict[str, dict[str, Any]] = {}
    told: dict[str, list[Settled]] = {}
    for row in history:
        stood[row["id"]] = row["event"]
        for event_id, instead in overrides_of(row).items():
            before = stood.get(event_id)
            if before is None:
                continue
            done = told.setdefault(row["id"], [])
            if instead is None:
                del stood[event_id]
                done.append(Settled(event_id, gone=True))
            else:
                stood[event_id] = instead
                changes = tuple(compare(before, instead, zone))
                done.append(Settled(event_id, gone=False, changes=changes))
    return told


def compare(before: dict[str, Any], after: dict[str, Any], zone: str) -> list[Changed]:
    """Return the values that differ between two wordings of one event."""
    was, now = _in_words(before, zone), _in_words(after, zone)
    return [
        Changed(label, was.get(label, ""), now.get(label, ""))
        for label in {**was, **now}
        if was.get(label) != now.get(label)
    ]


def _in_words(event: dict[str, Any], zone: str) -> dict[str, str]:
    told: dict[str, str] = {"happened at": moment(event.get("happened_at"), zone)}
    for label, text in flat(event, (*_ALWAYS_THE_SAME, "happened_at"), zone):
        told[label] = f"{told[label]}; {text}" if label in told else text
    return told
