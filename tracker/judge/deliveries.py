"""What became of one unit of a batch: pre-advised, arrived, and what differs between the two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

from schemas.events.union import FACTS
from tracker.judge.entry import Entry, Payload
from tracker.judge.fold import settle

State = Literal["arrived", "missing", "unexpected"]

_SAID_FROM_AFAR: Final = frozenset(
    {"pre-advice", "complaint", "delivery", "claim-notice", "gate-out"}
)
_COMPARED: Final = (
    "size_type",
    "masses.gross_kg",
    "masses.tare_kg",
    "masses.payload_kg",
    "masses.gross_lb",
    "masses.tare_lb",
    "masses.payload_lb",
    "masses.cube_m3",
    "manufactured_in",
    "approval_reference",
    "colour",
    "provenance",
)
_ON_THE_PLATE: Final = frozenset({"manufactured_in", "approval_reference"})


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that was read otherwise than it was pre-advised, and by which event."""

    field: str
    advised: str
    read: str
    event: str


@dataclass(frozen=True, slots=True)
class Tick:
    """One unit of a batch: whether it was expected, came, and as it was said to be."""

    state: State
    advised: Payload | None
    """The pre-advice that stands; None when the unit came without."""
    arrived_at: str | None = None
    arrived_by: str | None = None
    """The event by which it was first there."""
    differs: tuple[Difference, ...] = ()


def tick_off(history: Iterable[Entry], batch: str) -> Tick | None:
    """Return what became of a unit as part of a batch; None when it is none of it.

    An arrival counts for the batch it names; one that names none, or another, for the batch last
    pre-advised before it. A unit seen on the ground without a gate-in has arrived, too.

    Args:
        history: All entries of the unit, in the order they were recorded.
        batch: The batch's name.
    """
    entries = sorted(settle(history).entries.values(), key=lambda entry: entry.key)
    expected: Entry | None = None
    advised: Entry | None = None
    arrived: Entry | None = None
    for entry in entries:
        named = entry.payload.get("batch")
        if entry.kind == "pre-advice":
            expected = entry
            if named == batch:
                advised, arrived = entry, None
        elif entry.kind in FACTS and entry.kind not in _SAID_FROM_AFAR:
            ours = expected is not None and expected.payload["batch"] == batch
            if arrived is None and (ours or named == batch):
                arrived = entry
    if advised is None and arrived is None:
        return None
    if arrived is None:
        return Tick("missing", advised.payload if advised else None)
    since = entries[entries.index(arrived) :]
    return Tick(
        "unexpected" if advised is None else "arrived",
        None if advised is None else advised.payload,
        arrived.effective_at,
        arrived.event_id,
        () if advised is None else tuple(_differences(advised.payload, since)),
    )


def _differences(advised: Payload, since: list[Entry]) -> Iterator[Difference]:
    first = since[0]
    for field in ("depot", "batch"):
        read = first.payload.get(field)
        if read is not None and read != advised[field]:
            yield Difference(field, advised[field], read, first.event_id)
    for field in _COMPARED:
        said = _value(advised, field)
        if said is None:
            continue
        for entry in _first_stay(since):
            read = _read(entry.payload, field)
            if read is None:
                continue
            if _plain(read) != _plain(said):
                yield Difference(field, str(said), str(read), entry.event_id)
            break


def _first_stay(since: list[Entry]) -> Iterator[Entry]:
    """Give what was reported from the arrival until the unit left; work may change it after."""
    for entry in since:
        if entry.kind in ("gate-out", "modification", "marking", "plate-change", "disposal"):
            return
        yield entry


def _read(payload: Payload, field: str) -> Any:  # noqa: ANN401 - any JSON
    if field in _ON_THE_PLATE:
        return _value(payload, f"plate.{field}")
    return _value(payload, field)


def _value(payload: Payload, field: str) -> Any:  # noqa: ANN401 - any JSON
    value: Any = payload
    for step in field.split("."):
        value = value.get(step) if isinstance(value, dict) else None
    return value


def _plain(value: object) -> str:
    return str(value).strip().casefold()
