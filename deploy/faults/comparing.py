"""Compare everything that is kept with what the model says of the same events in that order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any, Final
from uuid import UUID

import orjson
from sqlalchemy import Connection, text

from deploy.faults.fault_stream import FaultStream
from deploy.faults.model import Model
from deploy.faults.model_alerts import AlertDay, standing_alerts
from schemas.orders import dump_order
from schemas.records import dump_record
from tracker.services import reading
from tracker.services.context import Context
from tracker.services.daily_round import make_rounds
from tracker.services.drain_all import drain_all
from tracker.services.rebuild import rebuild
from tracker.services.stream import entry_of
from tracker.services.verify import verify
from tracker.store import history, people

_TWICE: Final = "SELECT count(*) - count(DISTINCT (stream_id, event_id)) FROM history"
# A batch commits once, and what waited for its locks commits later: the moment of the commit is
# the order. Within a batch it is the order in which the one sender sent.
_IN_ORDER: Final = (
    "SELECT event_id::text, outcome, stream_id::text, seq, findings, received_at,"
    " pg_xact_commit_timestamp(xmin) AS at FROM receipts"
)
_OPEN_ALERTS: Final = "SELECT unit_id::text, kind, cause FROM alerts WHERE cleared_at IS NULL"


@dataclass(frozen=True, slots=True)
class Comparison:
    """What was found after a fault; all of it nothing where the row is clean."""

    lost: int
    twice: int
    differing: tuple[str, ...]
    flaws: int
    rebuilt: int

    @property
    def is_clean(self) -> bool:
        """Nothing lost, nothing twice, nothing other than it should be."""
        return not (self.lost or self.twice or self.differing or self.flaws or self.rebuilt)


def compare(context: Context, stream: FaultStream, opening: int) -> Comparison:
    """Make the day's rounds, feed the model the recorded order, and compare.

    The rounds are made twice, since whatever happens once may happen again.

    Args:
        context: The worker's means; its clock says which day it is.
        stream: What was sent.
        opening: How many events were judged before the owner codes were known.
    """
    day = AlertDay(context.clock.now(), context.month_reading, context.settings.alert_days)
    _make_rounds(context, stream, day)
    with context.engine.begin() as connection:
        # The model thinks for longer than a worker may keep a transaction idle.
        connection.execute(text("SET LOCAL idle_in_transaction_session_timeout = 0"))
        rows = connection.execute(text(_IN_ORDER)).mappings().all()
        kept = {str(row["event_id"]): dict(row) for row in rows}
        model = _judge_all(context, connection, stream, kept, opening)
        differing = (
            *_differences(connection, model, kept),
            *_alerts_differing(connection, model, day),
            *_overtaken(stream, kept),
        )
        twice = connection.execute(text(_TWICE)).scalar_one()
    lost = sum(kept.get(one, {}).get("outcome", "held") == "held" for one in stream.sent)
    flaws = len(verify(context).flaws)
    rebuilt = len(rebuild(context, check_only=True).differing)
    return Comparison(lost, int(twice), differing, flaws, rebuilt)


def _make_rounds(context: Context, stream: FaultStream, day: AlertDay) -> None:
    """Make the rounds twice; what the first hands in by itself (lapses) counts as sent."""
    make_rounds(context, on=day.at.date())
    with context.engine.begin() as connection:
        handed_in = connection.execute(text("SELECT event_id::text, body FROM intake")).all()
    stream.sent |= {event_id: orjson.dumps(body) for event_id, body in handed_in}
    drain_all(context)
    make_rounds(context, on=day.at.date())


def _judge_all(
    context: Context,
    connection: Connection,
    stream: FaultStream,
    kept: Mapping[str, dict[str, Any]],
    opening: int,
) -> Model:
    model = Model(make_reference=partial(reading.reference_for, context.secret))
    place = {event_id: number for number, event_id in enumerate(stream.sent)}
    ordered = sorted(kept, key=lambda one: (kept[one]["at"], place.get(one, -1)))
    rules = context.rulebook(connection)
    for number, event_id in enumerate(ordered):
        if event_id not in stream.sent:
            continue  # told as a difference
        if number == opening:
            model.rules = rules
        received_at: datetime = kept[event_id]["received_at"]
        model.judge(reading.read_event(stream.sent[event_id]), received_at)
    return model


def _differences(
    connection: Connection, model: Model, kept: Mapping[str, dict[str, Any]]
) -> Iterator[str]:
    yield from _compare("receipt", *_receipts(model, kept))
    marks = connection.execute(text("SELECT subject, unit_id::text FROM marks"))
    yield from _compare("mark", {row[0]: row[1] for row in marks}, model.meaning)
    asked = connection.execute(text("SELECT id::text, unit_id::text FROM questions"))
    yield from _compare("question", {row[0]: row[1] for row in asked}, model.questions())
    bodies = connection.execute(text("SELECT unit_id::text, body FROM records"))
    records = people.reveal(connection, {row[0]: row[1] for row in bodies})
    expected = {unit: orjson.loads(dump_record(model.record(unit))) for unit in model.histories}
    yield from _compare("record", records, expected)
    placed = connection.execute(text("SELECT order_id::text, body FROM orders"))
    orders = people.reveal(connection, {row[0]: row[1] for row in placed})
    agreed = {order: orjson.loads(dump_order(model.order(order))) for order in model.orders}
    yield from _compare("order", orders, agreed)
    yield from _compare("history", _histories(connection, model), _model_histories(model))


def _alerts_differing(connection: Connection, model: Model, day: AlertDay) -> Iterator[str]:
    rows = connection.execute(text(_OPEN_ALERTS)).all()
    expected = dict.fromkeys(standing_alerts(model, day), 1)
    yield from _compare("alert", dict.fromkeys((tuple(row) for row in rows), 1), expected)


def _overtaken(stream: FaultStream, kept: Mapping[str, dict[str, Any]]) -> Iterator[str]:
    """Say which events were judged before one of the same mark that their sender sent earlier."""
    latest: dict[str, tuple[datetime, str]] = {}
    for event_id, body in stream.sent.items():
        mark = orjson.loads(body).get("mark")
        if mark is None or event_id not in kept or event_id in stream.set_aside:
            continue
        at: datetime = kept[event_id]["at"]
        before, which = latest.get(mark, (at, event_id))
        if at < before:
            yield f"order of {mark}: {event_id} was judged before {which}, which was sent earlier"
        latest[mark] = max((at, event_id), (before, which))


def _receipts(
    model: Model, kept: Mapping[str, dict[str, Any]]
) -> tuple[dict[str, Any], dict[str, Any]]:
    found = {
        one: (row["outcome"], row["stream_id"], row["seq"], row["findings"] or [])
        for one, row in kept.items()
    }
    expected = {
        one: (told.outcome, told.unit, told.seq, told.findings)
        for one, told in model.receipts.items()
    }
    return found, expected


def _histories(connection: Connection, model: Model) -> dict[str, Any]:
    streams = connection.execute(text("SELECT stream_id FROM heads")).scalars().all()
    wanted = {*streams, *(UUID(unit) for unit in model.histories)}
    return {
        str(unit): people.reveal(connection, [entry_of(row).as_override() for row in rows])
        for unit, rows in history.load(connection, list(wanted)).items()
        if rows
    }


def _model_histories(model: Model) -> dict[str, Any]:
    return {
        unit: [entry.as_override() for entry in entries]
        for unit, entries in model.histories.items()
    }


def _compare(what: str, found: Mapping[Any, Any], expected: Mapping[Any, Any]) -> Iterator[str]:
    for name in sorted(found.keys() | expected.keys()):
        if found.get(name) != expected.get(name):
            yield f"{what} {name}: kept {found.get(name)!s:.300}, model {expected.get(name)!s:.300}"
