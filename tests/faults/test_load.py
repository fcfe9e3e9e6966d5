"""Many clients at once in short form, the stack stopped and started again among them."""

from __future__ import annotations

import contextlib
import socket
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from http.client import HTTPConnection
from typing import TYPE_CHECKING

import orjson
import pytest
from rich.console import Console

from deploy import services
from deploy.bench.bench_stream import bodies
from deploy.load import run
from deploy.load.crowd import split_by_box
from deploy.load.memory import MemoryWatch
from deploy.load.outcome import Outcome, figures, is_clean, show, write
from deploy.load.tally import Tally, part_of
from deploy.load.wire import (
    Answer,
    NotAnsweredError,
    TornAnswerError,
    Wire,
)
from deploy.process import Part
from deploy.run import serving
from shared.settings import Settings
from tests.support.depot import id_of, report
from tests.support.stories import tell
from tracker.services import keys
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from deploy.services import Addresses
    from tests.support.depot import Depot

CLIENTS = 60
PLACES = 25
EVENTS = 900
SOUND = Answer(200, {}, b"")


@pytest.fixture
def provided(tmp_path: Path) -> Iterator[Addresses]:
    """Servers of the test's own: what was promised before a stop must be there after it."""
    with services.provide(Settings(home=tmp_path / "home")) as found:
        yield replace(found, settings=found.settings.changed(web_requests_most=PLACES))


@pytest.mark.timeout(300)
def test_crowd_loses_nothing_though_put_off_and_stopped_among_it(provided: Addresses) -> None:
    outcome = run.put_load(provided, run.Extent(CLIENTS, seconds=240, events=EVENTS))
    told = figures(outcome)
    assert [one for one in told if one.is_right is False] == []
    assert is_clean(told)
    # Every client sends on until all it has is taken, so that nothing is missing at the end.
    assert len(outcome.tally.accepted) == EVENTS
    assert outcome.recorded > 0.9 * EVENTS
    assert outcome.tally.put_off > 0
    assert outcome.tally.not_answered > 0
    assert outcome.under_way_at_stop > 0
    assert all(start > 0 and end > 0 for start, _, end, _ in outcome.memory.values())


def test_stop_answers_whoever_waits_for_a_verdict(depot: Depot, settings: Settings) -> None:
    key = keys.add_key(depot.web, "waits", scopes=[Scope.REPORT], depots=["*"])
    body = report("gate-in")
    depot.send(body)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]

    def ask(path: str) -> tuple[int, bytes]:
        with contextlib.closing(HTTPConnection("127.0.0.1", port, timeout=100)) as connection:
            connection.request("GET", path, headers={"Authorization": f"Bearer {key}"})
            answer = connection.getresponse()
            return answer.status, answer.read()

    own = settings.changed(web_port=port)
    with ThreadPoolExecutor(1) as pool, serving(own, (Part.WEB,)) as stack:
        waits = pool.submit(ask, f"/api/events/{id_of(body)}?wait=60")
        # By the third answer to others the first question has long been read.
        assert [ask("/health")[0] for _ in range(3)] == [200] * 3
        assert stack.stop() == []
        status, said = waits.result()
    assert (status, orjson.loads(said)["state"]) == (202, "waiting")


def test_box_belongs_to_one_client_who_sends_its_events_in_order() -> None:
    sent = bodies(300, 40)
    shares = split_by_box(sent, 7)
    assert sorted(map(id_of, sent)) == sorted(id_of(body) for share in shares for body in share)
    owners: dict[str, set[int]] = {}
    for number, share in enumerate(shares):
        for body in share:
            owners.setdefault(orjson.loads(body)["mark"], set()).add(number)
        places = [sent.index(body) for body in share]
        assert places == sorted(places)
    assert {len(found) for found in owners.values()} == {1}


def test_tally_tells_put_off_from_turned_away_and_from_wrong() -> None:
    tally = Tally()
    assert tally.note_answer("GET", SOUND, 0.5)
    for status, headers in ((503, {"retry-after": "2"}), (429, {"retry-after": "9"}), (503, {})):
        assert not tally.note_answer("POST", Answer(status, headers, b""), 0.1)
    assert not tally.note_answer("GET", Answer(404, {}, b""), 0.1)
    assert (tally.put_off, tally.turned_away, dict(tally.wrong)) == (2, 1, {"GET 404": 1})
    assert (tally.within("GET", 0.99), tally.within("POST", 0.5)) == (0.5, 0.0)
    assert [part_of([1, 2, 3, 4], part) for part in (0.5, 0.99, 1)] == [2, 4, 4]


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        (b"", NotAnsweredError),
        (b"HTTP/1.1 200 OK\r\nContent-Le", TornAnswerError),
        (b"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\nhalf", TornAnswerError),
    ],
)
def test_wire_tells_an_answer_that_was_torn_from_one_that_never_began(
    said: bytes, fault: type[Exception]
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server, ThreadPoolExecutor(1) as pool:

        def break_off() -> None:
            connection, _ = server.accept()
            with connection:
                connection.recv(4096)
                connection.sendall(said)

        pool.submit(break_off)
        wire = Wire("127.0.0.1", server.getsockname()[1], {})
        with pytest.raises(fault):
            tell(wire.ask("GET", "/"))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("killed", [Part.WEB]),
        ("lost_by_stop", 1),
        ("unjudged", 1),
        ("history_off", 1),
        ("flaws", 1),
        ("rebuilt", 1),
    ],
)
def test_table_shows_what_is_not_as_it_must_be(tmp_path: Path, field: str, value: object) -> None:
    clean = Outcome(Tally(accepted={"an event"}), memory={Part.DRAIN: (100, 120, 121, 125)})
    assert is_clean(figures(clean))
    wrong = replace(clean, **{field: value})
    assert not is_clean(figures(wrong))
    console = Console(record=True, width=160)
    show(figures(wrong), console)
    printed = console.export_text()
    assert "NO" in printed
    assert "100 / 120 / 121 / 125 MB" in printed
    write(figures(wrong), tmp_path / "table.json")
    rows = orjson.loads((tmp_path / "table.json").read_bytes())
    assert [row["is_right"] for row in rows].count(False) == 1


def test_memory_has_a_course_of_what_was_seen() -> None:
    watch = MemoryWatch([{Part.WEB: mb} for mb in (100, 130, 120, 121)] + [{}])
    assert watch.course(Part.WEB) == (100, 120, 121, 130)
    assert watch.course(Part.BEAT) == (0, 0, 0, 0)
