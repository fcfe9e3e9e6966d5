"""The faults table in short form: every fault with events in flight, then equal to the model."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

import orjson
import pytest
from rich.console import Console
from sqlalchemy import text

from deploy.bench.bench_house import house
from deploy.faults.comparing import Comparison, compare
from deploy.faults.fault_stream import FaultStream, id_of
from deploy.faults.run import choose
from deploy.faults.scene import Scene, open_scene
from deploy.faults.servers import Servers, run_servers
from deploy.faults.table import FAULTS, Fault, FaultRow, run_fault, show, write
from shared.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

EVENTS = 450
AWAY_S = 5.0
CLEAN = Comparison(0, 0, (), 0, 0)


@pytest.fixture(scope="module")
def servers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Servers]:
    """Servers of this module's own, to be crashed at will; one set for each worker of the run."""
    with run_servers(Settings(), tmp_path_factory.mktemp("faults") / "home") as running:
        yield running


@pytest.mark.timeout(300)
@pytest.mark.parametrize("fault", FAULTS, ids=[fault.name for fault in FAULTS])
def test_fault_loses_nothing_and_leaves_what_the_model_says(servers: Servers, fault: Fault) -> None:
    row = run_fault(servers, fault, events=EVENTS, pause_s=AWAY_S)
    assert row.comparison == CLEAN
    assert row.events > EVENTS


@pytest.mark.parametrize(
    ("damage", "found"),
    [
        ("DELETE FROM receipts WHERE event_id = :event", "lost"),
        ("UPDATE receipts SET outcome = 'held' WHERE event_id = :event", "lost"),
        ("UPDATE receipts SET findings = '[]' WHERE outcome = 'refused'", "differing"),
        ("UPDATE marks SET unit_id = :event", "differing"),
        ("UPDATE alerts SET cleared_at = now() WHERE kind = 'breach'", "differing"),
        ("UPDATE alerts SET cause = 'another' WHERE kind = 'breach'", "differing"),
        ("DELETE FROM questions", "differing"),
        ("UPDATE records SET body = '{}'", "differing"),
        ("UPDATE heads SET count = count + 1", "flaws"),
        ("UPDATE records SET depot = 'ELSEWHERE'", "rebuilt"),
        (
            "INSERT INTO history SELECT stream_id, 999, event_id, kind, effective_at, recorded_at,"
            " body, digest FROM history WHERE event_id = :event",
            "twice",
        ),
    ],
)
def test_comparison_finds_damage(servers: Servers, damage: str, found: str) -> None:
    with told_scene(servers) as scene:
        with scene.owner.begin() as connection:
            connection.execute(text(damage), {"event": next(iter(scene.stream.sent))})
        assert getattr(compare(scene.worker, scene.stream, scene.opening), found)


def test_comparison_finds_what_was_overtaken(servers: Servers) -> None:
    with told_scene(servers) as scene:
        told = {one: orjson.loads(body).get("mark") for one, body in scene.stream.sent.items()}
        mark, count = Counter(filter(None, told.values())).most_common(1)[0]
        first = next(one for one in told if told[one] == mark)
        with scene.owner.begin() as connection:
            # Written again, it counts as judged just now.
            again = "UPDATE receipts SET outcome = outcome WHERE event_id = :first"
            connection.execute(text(again), {"first": first})
        differing = compare(scene.worker, scene.stream, scene.opening).differing
    assert sum(f"order of {mark}: " in one for one in differing) == count - 1


@contextmanager
def told_scene(servers: Servers) -> Iterator[Scene]:
    """Provide a scene in which all was judged and nothing is wrong."""
    with (
        house(servers.provided, "faults_damaged") as depot,
        open_scene(servers, depot, 200, AWAY_S) as scene,
    ):
        scene.begin()
        scene.send(scene.rest)  # whole lives: somebody comes too late and is refused
        scene.drain()
        assert compare(scene.worker, scene.stream, scene.opening) == CLEAN
        yield scene
        depot.forget_pools()


def test_stream_holds_what_two_lanes_quarrel_about() -> None:
    stream = FaultStream(450)
    first, rest = stream.halves()
    told = [orjson.loads(body) for body in [*first, *rest]]
    new_marks = {event["new_mark"] for event in told if "new_mark" in event}
    assert len(new_marks) > 3
    assert {event["mark"] for event in told} & new_marks
    settled = stream.settling(["q"], first)
    kinds = [orjson.loads(body)["kind"] for body in settled]
    assert kinds[0] == "answer"
    assert set(kinds[1:]) == {"correction"}
    sent = [id_of(body) for lot in stream.lots([*first, *rest]) for body in lot]
    assert list(dict.fromkeys(sent)) == list(stream.sent)
    assert len(sent) > len(stream.sent)


def test_faults_are_chosen_by_any_part_of_a_name() -> None:
    assert choose([]) == list(FAULTS)
    assert [fault.name for fault in choose(["redis ", "FLUSH"])] == [
        "FLUSHALL",
        "Redis stopped and restarted",
    ]
    assert choose(["nothing of the kind"]) == []


def test_table_and_file_tell_of_every_row(tmp_path: Path) -> None:
    clean = FaultRow("FLUSHALL", 9, CLEAN, 1.5, "emptied 3 times")
    dirty = replace(clean, fault="beat", comparison=replace(CLEAN, differing=("mark ZZZU",)))
    console = Console(record=True, width=160)
    unfinished = replace(clean, fault="web", comparison=None, note="not within 300 s")
    show([clean, dirty, unfinished], console)
    printed = console.export_text()
    for told in ("emptied 3 times", "beat", "?", "not within 300 s"):
        assert told in printed
    write([clean, dirty, unfinished], tmp_path / "rows.json")
    rows = orjson.loads((tmp_path / "rows.json").read_bytes())
    assert [row["clean"] for row in rows] == [True, False, False]
    assert rows[1]["comparison"]["differing"] == ["mark ZZZU"]
