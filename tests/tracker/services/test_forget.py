"""What is forgotten stands nowhere: not in histories, nor in what waits or was not read."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from tests.support.depot import BOX, OTHER, Depot, id_of, lane_of, report, wait_until
from tracker.services.context import Context
from tracker.services.drain import drain
from tracker.services.forget import forget
from tracker.services.let_go import let_go
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

if TYPE_CHECKING:
    from collections.abc import Mapping

NAME = 'Zo\u00eb "Zed" Th\u00f8rn'
WAITS_FOR_LANE = "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted"


@pytest.fixture
def owner(depot: Depot) -> Context:
    """The means of the owner, who alone may forget."""
    return replace(depot.web, engine=depot.owner)


def places_of(depot: Depot, value: str) -> Mapping[str, int]:
    """Return every table in which a value stands, however it is written, with how many rows."""
    found: dict[str, int] = {}
    spelled = {value, json.dumps(value)[1:-1], json.dumps(value, ensure_ascii=False)[1:-1]}
    tables = depot.rows("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
    for table in (row["tablename"] for row in tables):
        for row in depot.rows(f"SELECT * FROM {table}"):  # noqa: S608 - a name from the catalogue
            said = str([*map(_plain, row.values())])
            found[table] = found.get(table, 0) + any(_in(said, one) for one in spelled)
    return {table: count for table, count in found.items() if count}


def _plain(value: object) -> object:
    if isinstance(value, bytes | memoryview):
        return bytes(value).decode("utf-8", errors="replace")
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else value


def _in(said: str, value: str) -> bool:
    return value in said or repr(value)[1:-1] in said


def test_value_about_a_person_stands_in_one_table_only_and_then_in_none(
    depot: Depot, owner: Context
) -> None:
    depot.open_depot("NORTH", manager="north@example.org")
    depot.record(
        report("gate-in", reported_by=NAME, driver=NAME, vehicle=NAME),
        report("sale", buyer=NAME),
        report("hold", hold="do-not-release", reason=NAME),
        # Out past a hold: a breach, which is told by mail.
        report("gate-out", purpose="sale", reported_by=NAME, driver=NAME, note=NAME),
        report("sale", buyer="Too late", reported_by=NAME),
    )
    assert depot.one("SELECT count(*) FROM outbox") > 0
    assert depot.one("SELECT count(*) FROM history") > 3
    assert places_of(depot, NAME) == {"personal_values": 1}
    assert forget(owner, NAME)
    assert places_of(depot, NAME) == {}
    assert verify(depot.worker).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []
    assert not forget(owner, NAME)


def test_value_in_an_event_that_waits_is_gone_before_it_is_judged(
    depot: Depot, owner: Context
) -> None:
    body = report("gate-in", reported_by=NAME, note=f"{NAME} came late")
    untouched = report("gate-in", OTHER, reported_by="Bo Thorn")
    depot.send(body, untouched)
    kept = depot.one("SELECT body::text FROM intake WHERE event_id = :id", id=id_of(untouched))
    assert places_of(depot, NAME) == {"intake": 1}
    assert forget(owner, NAME)
    assert forget(owner, f"{NAME} came late")
    assert places_of(depot, NAME) == {}
    left = depot.one("SELECT body::text FROM intake WHERE event_id = :id", id=id_of(untouched))
    assert left == kept
    depot.drain_all()
    assert places_of(depot, NAME) == {}
    row = depot.show().history[0]["event"]
    assert (row["reported_by"], row["note"]) == ("(forgotten)", "(forgotten)")
    # Its sender may send it again all the same: it is known, and nothing comes back.
    (again,) = depot.send(body)
    assert (again.state, again.again) == ("recorded", True)
    assert places_of(depot, NAME) == {}


def test_value_in_a_held_event_and_in_why_it_is_held_is_gone(depot: Depot, owner: Context) -> None:
    body = report("gate-in", reported_by=NAME)
    depot.send(body)
    (kept,) = depot.rows("SELECT body::text FROM intake")
    depot.change("UPDATE intake SET body = '{}'")
    depot.drain_all()
    assert depot.outcomes() == {id_of(body): "held"}
    depot.change(
        "UPDATE intake SET body = CAST(:body AS json), error = 'broke on ' || :name",
        name=NAME,
        **kept,
    )
    assert forget(owner, NAME)
    assert places_of(depot, NAME) == {}
    assert depot.one("SELECT error FROM intake") == "broke on (forgotten)"
    let_go(depot.worker, depot.one("SELECT event_id FROM intake"))
    depot.drain_all()
    assert depot.outcomes() == {id_of(body): "recorded"}
    assert places_of(depot, NAME) == {}


def test_forgetting_waits_for_a_drain_that_has_read_the_name_already(
    depot: Depot, owner: Context
) -> None:
    depot.record(report("gate-in"))
    depot.send(report("restow", reported_by=NAME))
    with ThreadPoolExecutor(2) as pool:
        with depot.owner.begin() as connection:
            connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
            drained = pool.submit(drain, depot.worker, lane_of(BOX))
            depot.wait_until_blocked()
            forgotten = pool.submit(forget, owner, NAME)
            wait_until(lambda: depot.one(WAITS_FOR_LANE))
        assert drained.result().recorded == 1
        assert forgotten.result()
    assert places_of(depot, NAME) == {}
    assert depot.show().history[-1]["event"]["reported_by"] == "(forgotten)"


SPELLED = {
    "as text": f'{{"who": {json.dumps(NAME, ensure_ascii=False)}}}'.encode(),
    "plainly": f"driver {NAME}, no JSON".encode(),
    "escaped": f'{{"who": {json.dumps(NAME)}}}'.encode(),
    "escaped in capitals": f'{{"who": {json.dumps(NAME)}}}'.replace("00eb", "00EB")
    .replace("00f8", "00F8")
    .encode(),
    "two bytes a letter": f"driver {NAME}".encode("utf-16"),
    "one byte a letter": f"driver {NAME}".encode("latin-1"),
}


@pytest.mark.parametrize("body", SPELLED.values(), ids=SPELLED)
def test_value_in_what_could_not_be_read_is_gone_however_it_was_spelled(
    depot: Depot, owner: Context, body: bytes
) -> None:
    other = b"somebody else's, no JSON either"
    first, _ = depot.send(body, other)
    assert first.state == "held"
    assert forget(owner, NAME)
    kept = {bytes(row["body"]) for row in depot.rows("SELECT body FROM unreadable")}
    assert other in kept
    (changed,) = kept - {other}
    assert not [part for part in (b"Zed", "Zed".encode("utf-16-le")) if part in changed]
    assert b"forgotten" in changed.replace(b"\0", b"")
    assert not forget(owner, NAME)
    (again, _) = depot.send(body, other)
    assert (again.id, again.again) == (first.id, True)
    assert b"Zed" not in changed


def test_value_quoted_in_why_something_could_not_be_read_is_gone(
    depot: Depot, owner: Context
) -> None:
    (told,) = depot.send(b'{"kind": "Zoe Thorn"}')
    assert "Zoe Thorn" in str(told.error)
    assert forget(owner, "Zoe Thorn")
    assert places_of(depot, "Zoe Thorn") == {}
