"""What is measured stays cheap as the house grows old."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import create_engine, event, text

from tracker.store import measures

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Engine

    from shared.addresses import DatabaseAddresses

_YEARS_OF_MAIL = """
INSERT INTO outbox (id, depot, role, subject, body, state)
SELECT gen_random_uuid(), 'NORTH', 'gate', 'Due', '{}',
       CASE WHEN n % 10000 = 0 THEN 'given-up' WHEN n % 9999 = 0 THEN 'waiting' ELSE 'sent' END
FROM generate_series(1, 30000) n
"""


@pytest.fixture
def owner(db: DatabaseAddresses) -> Iterator[Engine]:
    """The database's owner, who may ask for plans."""
    engine = create_engine(db.owner)
    yield engine
    engine.dispose()


def test_letters_are_measured_without_reading_those_that_were_sent(owner: Engine) -> None:
    with owner.begin() as connection:
        connection.execute(text(_YEARS_OF_MAIL))
        connection.execute(text("ANALYZE outbox"))
        asked: list[tuple[str, Any]] = []

        @event.listens_for(connection, "before_cursor_execute")
        def note(
            _connection: object, _cursor: object, statement: str, values: object, *_: object
        ) -> None:
            if "outbox" in statement:
                asked.append((statement, values))

        found = measures.read(connection)
        event.remove(connection, "before_cursor_execute", note)
        assert found.letters == {"given-up": 3, "waiting": 3}
        assert len(asked) == 2
        for statement, values in asked:
            plan = connection.exec_driver_sql(f"EXPLAIN {statement}", values).scalars().all()
            assert "Seq Scan" not in "\n".join(plan)
