"""A batch sends each statement once or twice for all its events: none for each of them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import psycopg
from sqlalchemy import event

from deploy.bench.bench_stream import bodies
from tracker.services.accept import accept
from tracker.services.drain import drain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.engine.interfaces import DBAPIConnection

    from tests.support.depot import Depot


MOST = 4
"""Marks are looked up before and after their units are locked; transactions begin a few times."""


class CountingCursor(psycopg.Cursor[Any]):
    """A cursor that adds what it sends to the list of its class."""

    sent: list[str]

    def execute(self, query: Any, *args: Any, **kwargs: Any) -> CountingCursor:  # noqa: ANN401 - as the driver has it
        """Run a statement and write it down."""
        self.sent.append(str(query))
        super().execute(query, *args, **kwargs)
        return self

    def copy(self, statement: Any, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401 - as the driver has it
        """Begin to copy and write it down."""
        self.sent.append(str(statement))
        return super().copy(statement, *args, **kwargs)


def statements_of(depot: Depot, events: Sequence[bytes]) -> Counter[str]:
    """Return how often one drain sends each statement to judge events in one batch."""
    sent: list[str] = []
    counting = type("Counting", (CountingCursor,), {"sent": sent})

    def count(connection: DBAPIConnection, *_: object) -> None:
        connection.cursor_factory = counting

    accept(depot.web, events)
    event.listen(depot.worker.engine, "checkout", count)
    try:
        report = drain(depot.worker, 0)
    finally:
        event.remove(depot.worker.engine, "checkout", count)
        depot.worker.engine.dispose()
    assert report.batches == 1
    assert report.recorded + report.refused == len(events)
    return Counter(sent)


def test_no_statement_of_a_batch_is_sent_for_each_event(depot: Depot) -> None:
    alone = depot.with_settings(lanes=1)
    # Of months ago: each decision makes the facts after it late, so that histories are fetched.
    told = bodies(900, 80)
    for start in range(0, 300, 100):
        accept(alone.web, told[start : start + 100])
    drain(alone.worker, 0)
    sent = statements_of(alone, told[300:900])
    assert len(sent) > 20
    assert {statement: times for statement, times in sent.items() if times > MOST} == {}
